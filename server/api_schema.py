"""What programs send to the API and get from it, as marshmallow schemas; the OpenAPI document is made from them."""
from __future__ import annotations

from marshmallow import EXCLUDE, Schema, ValidationError, fields, validate

from server.book import EntrySchema
from server.errors import Fault, Faults
from server.model import Plain

MOST_ENTRIES = 500
MOST_CURSOR = 10**9
Content = type[Schema] | str  # a schema of ours, or the name of a component of the OpenAPI document


class BodyFaults(Faults):
    """A body that does not say what the address takes."""

    name = "body-faults"
    status = 422


class Whole(fields.Integer):
    """A whole number as JSON writes one: neither true nor "7" nor 7.5."""

    def _validated(self, value: object) -> int:
        if isinstance(value, bool) or not isinstance(value, int):
            raise self.make_error("invalid")
        return value


class Sent(Schema):
    """Unknown keys are passed over: a newer phone may say more."""

    class Meta:
        unknown = EXCLUDE


class SyncBody(Sent):
    # Each entry is checked on its own, so that a bad one does not hold up the good ones.
    entries = fields.List(fields.Raw(allow_none=True), required=True, validate=validate.Length(max=MOST_ENTRIES))
    since = Whole(required=True, validate=validate.Range(min=0, max=MOST_CURSOR))


class CrewBody(Sent):
    link = fields.String(required=True, validate=validate.Length(min=1, max=200))


class OneFault(Schema):
    place = fields.String(required=True)
    code = fields.String(required=True)
    message = fields.String(required=True)
    fix = fields.String(required=True)


class Inside(Schema):
    """The inside of the one error shape."""

    code = fields.String(required=True)
    message = fields.String(required=True)
    fix = fields.String(required=True)
    faults = fields.List(fields.Nested(OneFault), required=True)


class Error(Schema):
    error = fields.Nested(Inside, required=True)


class Refused(Schema):
    id = fields.String(required=True, allow_none=True)
    error = fields.Nested(Inside, required=True)


class Synced(Schema):
    kept = fields.List(fields.String(), required=True)
    refused = fields.List(fields.Nested(Refused), required=True)
    entries = fields.List(fields.Nested(EntrySchema), required=True)
    since = fields.Integer(required=True)
    more = fields.Boolean(required=True)


class Offered(Schema):
    id = fields.String(required=True)
    name = fields.String(required=True)
    digest = fields.String(required=True)
    files = fields.List(fields.String(), required=True)


class Joined(Schema):
    job = fields.Nested(Offered, required=True)


class Summary(Schema):
    id = fields.String(required=True)
    name = fields.String(required=True)
    revision = fields.Integer(required=True)
    digest = fields.String(required=True)
    created = fields.String(required=True)
    page = fields.String(required=True)
    phone = fields.String(required=True)


class SavedJob(Summary):
    """A job with its file as it was given."""

    spec = fields.Dict(required=True)


class Jobs(Schema):
    jobs = fields.List(fields.Nested(Summary), required=True)


class Checked(Schema):
    faults = fields.List(fields.Nested(OneFault), required=True)
    findings = fields.List(fields.String(), required=True)


def read_body(schema: type[Schema], found: object) -> Plain:
    """A body by its schema. Raises BodyFaults with everything wrong, each at its key."""
    try:
        read: Plain = schema().load(found)  # type: ignore[arg-type]
    except ValidationError as error:
        keys = sorted(map(str, error.messages)) if isinstance(error.messages, dict) else [""]
        raise BodyFaults([Fault(key, "body-part", {"key": key[:80]}) for key in keys]) from error
    return read
