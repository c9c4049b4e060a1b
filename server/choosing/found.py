"""A frame that was found, told whole: every column, every beam on its posts, how close each member is to its limit."""

from __future__ import annotations

from server.choosing.fronts import Cost
from server.choosing.members import Members, Seat
from server.choosing.options import Line, Option
from server.choosing.search import Search, Whole


def option(search: Search, past: float, cost: Cost, whole: Whole) -> Option:
    """The frame as an option; `past`: its longest joist cantilever, inches."""
    lines = lines_of(search, whole)
    shares = {"joist": whole.joists.span, "joist-cantilever": whole.joists.cantilever}
    for name in lines[0].shares:
        shares[name] = max(line.shares[name] for line in lines)
    return Option(
        joist_size=whole.joists.size,
        joist_spacing=whole.joists.spacing,
        joist_pieces=whole.joists.pieces,
        beams=lines,
        holes=cost[0],
        concrete=cost[1] / 10,
        board_feet=cost[2] / 3,
        longest=cost[3],
        cantilever=past,
        closest=cost[4] / 10,
        engineer=bool(cost[5]),
        shares=shares,
        units=search.members.job.units,
    )


def lines_of(search: Search, whole: Whole) -> tuple[Line, ...]:
    """The beams at their setbacks, the nearest to the house first."""
    loads = search.loads_at(whole.setbacks)
    seated = zip(whole.setbacks, whole.seats, loads, strict=True)
    return tuple(_line(search.members, setback, seat, strip) for setback, seat, (_, strip) in seated)


def _line(members: Members, setback: float, seat: Seat, strip: float) -> Line:
    layout = seat.layout
    areas = members.areas(layout, strip)
    holes = [members.hole(area) for area in areas]
    shares = {
        "beam": layout.bay / seat.most,
        "beam-cantilever": layout.end / (members.beam_share * layout.bay),
        "footing": max(members.footing_share(area) for area in areas),
    }
    concrete = 2 * holes[0].concrete + (layout.count - 2) * holes[1].concrete
    bays = (layout.count, layout.bay, layout.end)
    return Line(setback, seat.plies, seat.size, *bays, seat.pieces, seat.most, areas, concrete, shares)
