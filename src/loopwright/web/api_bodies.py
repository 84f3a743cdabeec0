"""What programs send to the API."""

from datetime import datetime
from typing import Annotated, Any

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, field_validator

from loopwright.web.wording import say

Short = Annotated[str, Field(max_length=200)]


def _as_typed(value: Any) -> Any:
    """A number is taken as if it had been typed."""
    return repr(value) if isinstance(value, int | float) and not isinstance(value, bool) else value


TypedValue = Annotated[str, Field(max_length=80), BeforeValidator(_as_typed)]


def _about(name: str) -> Any:
    return say(f"api.field.{name}")


class ReadingBody(BaseModel):
    """A reading as it was typed."""

    model_config = ConfigDict(
        extra="forbid",
        json_schema_extra={
            "examples": [
                {"of": "column/Z_seat_left", "values": [["85.004", "85.005"]], "gauge": "length gauge"},
                {"of": "spindle tram front to back", "values": [["-3"]], "unit": "arcsec"},
                {"of": "ball screw/mean travel", "item": "A7", "values": [["6 µm"]], "gauge": "length gauge"},
            ]
        },
    )

    of: Annotated[str, Field(min_length=1, max_length=200, description=_about("of"))]
    values: Annotated[
        list[list[TypedValue]], Field(min_length=1, max_length=5000, description=_about("values"))
    ]
    against: Annotated[Short | None, Field(description=_about("against"))] = None
    item: Annotated[Short | None, Field(description=_about("item"))] = None
    unit: Annotated[Short | None, Field(description=_about("unit"))] = None
    gauge: Annotated[Short | None, Field(description=_about("gauge"))] = None
    poses: Annotated[dict[str, list[TypedValue]], Field(description=_about("poses"))] = {}
    both_directions: Annotated[bool, Field(description=_about("both_directions"))] = False
    turned: Annotated[bool, Field(description=_about("turned"))] = False
    from_nominal: Annotated[bool, Field(description=_about("from_nominal"))] = False
    part_temperature: Annotated[Short | None, Field(description=_about("part_temperature"))] = None
    gauge_temperature: Annotated[Short | None, Field(description=_about("gauge_temperature"))] = None
    taken: Annotated[str | None, Field(max_length=40, description=_about("taken"))] = None
    note: Annotated[str | None, Field(max_length=2000, description=_about("note"))] = None
    state: Annotated[int | None, Field(ge=1, description=_about("state"))] = None
    supersedes: Annotated[int | None, Field(ge=1, description=_about("supersedes"))] = None

    @field_validator("taken")
    @classmethod
    def _is_a_day(cls, value: str | None) -> str | None:
        if value is not None:
            datetime.fromisoformat(value)
        return value

    @field_validator("values")
    @classmethod
    def _not_too_many(cls, value: list[list[str]]) -> list[list[str]]:
        if sum(map(len, value)) > 20_000:
            raise ValueError(say("api.too_many_values"))
        return value


class EnteredBody(ReadingBody):
    """A reading that is to be entered."""

    key: Annotated[str, Field(min_length=8, max_length=200, description=_about("key"))]
    keep: Annotated[bool, Field(description=_about("keep"))] = False
    seen: Annotated[int | None, Field(ge=0, description=_about("seen"))] = None
    book: Annotated[Short | None, Field(description=_about("book"))] = None


class ValueBody(BaseModel):
    """One value as it was typed, to be looked at before the next is read."""

    model_config = ConfigDict(
        extra="forbid", json_schema_extra={"examples": [{"of": "column/Z_seat_left", "text": "3.3466 in"}]}
    )

    of: Annotated[str, Field(min_length=1, max_length=200, description=_about("of"))]
    text: Annotated[TypedValue, Field(description=_about("text"))]
    unit: Annotated[Short | None, Field(description=_about("unit"))] = None
    against: Annotated[Short | None, Field(description=_about("against"))] = None
    item: Annotated[Short | None, Field(description=_about("item"))] = None
