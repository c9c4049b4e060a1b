"""Strength of wood: dressed sections, reference values of No.2 lumber, and the factors that adjust them.

Stresses and moduli are psi, lengths inches. Wet service throughout: a deck stands in the rain.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from math import sqrt

from server.codes.rules import rule
from server.codes.tables import FIR, known, rows


@dataclass(frozen=True)
class Section:
    """A dressed section: width, depth in inches; area in², section modulus in³, moment of inertia in⁴, strong way."""

    b: float
    d: float

    @property
    def area(self) -> float:
        return self.b * self.d

    @property
    def modulus(self) -> float:
        return self.b * self.d**2 / 6

    @property
    def inertia(self) -> float:
        return self.b * self.d**3 / 12


@dataclass(frozen=True)
class Stresses:
    """Values of a species and size, psi: bending, shear, compression along the grain, modulus, modulus for buckling."""

    fb: float
    fv: float
    fc: float
    e: float
    emin: float


@cache
def section(nominal: str) -> Section:
    """The dressed section of a nominal size ("2x8"), NDS Supplement Table 1B. Raises NotInTables."""
    sizes = {row["nominal"]: row for row in rows("sections")}
    known("size", nominal, sizes)
    return Section(float(sizes[nominal]["b_in"]), float(sizes[nominal]["d_in"]))


@cache
def factor(name: str) -> float:
    """A factor of lumber_factors.csv by name. Raises NotInTables."""
    factors = {row["factor"]: float(row["value"]) for row in rows("lumber_factors")}
    known("factor", name, factors)
    return factors[name]


@cache
def reference(species: str, size: str) -> Stresses:
    """Reference values, NDS Supplement Tables 4A and 4B; Fb with CF in it. Raises NotInTables."""
    values = {(row["species"], row["size"]): row for row in rows("lumber_design_values")}
    sized = (species, size) in values
    key = (species, size if sized else "base")
    known("species and size", key, values)
    row = values[key]
    size_factor = 1.0 if sized else factor(_size_factor(size))
    return Stresses(
        fb=float(row["Fb_psi"]) * size_factor,
        fv=float(row["Fv_psi"]),
        fc=float(row["Fc_psi"]),
        e=float(row["E_psi"]),
        emin=float(row["Emin_psi"]),
    )


def _size_factor(size: str) -> str:
    """The row of CF for a size; 3 in. and (as the tables take it) 4x10 and 4x12 go with 2 in., a timber has none."""
    return f"CF_{size}" if size in ("4x6", "4x8") else f"CF_2x{size.split('x')[1]}"


def incised(species: str) -> bool:
    """Whether the tables take it that preservative needs cuts in the wood: the fir group. NDS 4.3.8."""
    return species in FIR.split(", ")


def members(group: str) -> tuple[str, ...]:
    """The species a group stands for; ponderosa and red pine take the values of Northern Species (NDS Table 4A)."""
    renamed = ("northern species" if name in ("ponderosa pine", "red pine") else name for name in group.split(", "))
    return tuple(dict.fromkeys(renamed))


def wet_bending(fb: float, tested: float) -> float:
    """Fb in wet service, psi: CM 0.85 where the value tested (Fb CF) is more than 1150 psi. NDS Table 4A, 4B."""
    return fb * factor("CM_Fb") if tested > 1150 else fb


@cache
def joist_stresses(species: str, size: str, edition: str) -> Stresses:
    """Adjusted values of a joist, psi: wet, incised where the species is, repetitive (Cr 1.15).

    DCA 6-2012 tests 1150 psi before incising, the IRC after it: that is what gives their cells.
    """
    wood = reference(species, size)
    strength, stiffness = (factor("Ci_strength"), factor("Ci_E")) if incised(species) else (1.0, 1.0)
    tested = wood.fb if edition == "DCA 6-2012" else wood.fb * strength
    return Stresses(
        fb=wet_bending(wood.fb * strength, tested) * factor("Cr"),
        fv=wood.fv * factor("CM_Fv") * strength,
        fc=wood.fc * factor("CM_Fc") * strength,
        e=wood.e * factor("CM_E") * stiffness,
        emin=wood.emin * factor("CM_E") * stiffness,
    )


@cache
def beam_stresses(species: str, size: str, plies: int) -> Stresses:
    """Adjusted values of a beam, psi: wet, not incised; Cr 1.00, 1.10, 1.15 for one, two, three plies.

    The 1.10 is fitted to the table of the IRC, it is not in the NDS. `size` is that of one ply ("2x8", "4x8").
    """
    wood = reference(species, size)
    repeated = {1: 1.0, 2: factor("Cr_2ply"), 3: factor("Cr")}[plies]
    return Stresses(
        fb=wet_bending(wood.fb, wood.fb) * repeated,
        fv=wood.fv * factor("CM_Fv"),
        fc=wood.fc * factor("CM_Fc"),
        e=wood.e * factor("CM_E"),
        emin=wood.emin * factor("CM_E"),
    )


@cache
def post_stresses(species: str, post: str) -> Stresses:
    """Adjusted values of a post, psi: wet, incised where the species is; 6x6 and 8x8 are timbers (NDS Table 4D)."""
    timber = section(post).b > 5
    wood = reference(species, "5x5") if timber else reference(species, _column_size(species, post))
    strength, stiffness = (factor("Ci_strength"), factor("Ci_E")) if incised(species) else (1.0, 1.0)
    size_factor = 1.0 if timber or species == "southern pine" else factor(f"CFc_{post[-1]}")
    wet_e = 1.0 if timber else factor("CM_E")
    return Stresses(
        fb=wood.fb,
        fv=wood.fv,
        fc=wood.fc * size_factor * _wet_column(wood.fc * size_factor, timber) * strength,
        e=wood.e * wet_e * stiffness,
        emin=wood.emin * wet_e * stiffness,
    )


def _column_size(species: str, post: str) -> str:
    """The row of reference values for a post 4 in. thick: southern pine has one for each width."""
    return f"2x{post[-1]}" if species == "southern pine" else post


def _wet_column(fc: float, timber: bool) -> float:
    """CM on Fc: 0.80 for lumber above 750 psi, 0.91 for timbers. NDS Supplement Tables 4A, 4D."""
    if timber:
        return factor("CM_timber_Fc")
    return factor("CM_Fc") if fc > 750 else 1.0


def column_height(stress: float, fc: float, emin: float, d: float) -> float:
    """The height, inches, at which a square-ended column d inches thick just bears `stress` psi. NDS 3.7.1, K = 1.

    CP is turned round: with x = stress / Fc*, FcE / Fc* = x (1 - 0.8 x) / (1 - x), and FcE = 0.822 Emin' / (le/d)².
    Never more than 50 d (3.7.1.4); 0 where the stress is more than the strength.
    """
    share = stress / fc
    if share >= 1:
        return 0.0
    ratio = share * (1 - 0.8 * share) / (1 - share)
    return min(50 * d, d * sqrt(0.822 * emin / (ratio * fc)))


@cache
def dead_load() -> float:
    """The dead load every table is made for, psf."""
    return rule("dead_load").number


def line_load(psf: float, width: float) -> float:
    """The load on an inch of member, lb/in, that psf over `width` inches brings: psf width / 144."""
    return psf * width / 144
