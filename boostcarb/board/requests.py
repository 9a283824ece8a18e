"""What a page may ask of the board, checked to the letter before anything is worked out.

Bounds here keep a request small; whether a mode, an item or a form exists is for the study to say.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated, TypeVar

from pydantic import BaseModel, ConfigDict, Field, ValidationError, model_validator

from boostcarb.description.wording import describe
from boostcarb.errors import BadDescription, Problem

MOST_CHANGES, MOST_QUESTIONS, LONGEST_NAME, LARGEST_SEED = 60, 50, 200, 2**31 - 1
MOST_TOLD = 8
"""Things that are wrong with one request and are told; the rest is counted."""

Name = Annotated[str, Field(min_length=1, max_length=LONGEST_NAME)]
Seed = Annotated[int, Field(ge=0, le=LARGEST_SEED)]


class _Request(BaseModel):
    model_config = ConfigDict(strict=True, extra="forbid", frozen=True, allow_inf_nan=False)


class ForScene(_Request):
    """What does not change with a configuration."""

    mode: Name


class ForAnswer(ForScene):
    """What stands on the board: a base with changes laid over it."""

    base: Name
    changes: dict[Name, Name] = Field(default_factory=dict, max_length=MOST_CHANGES)


class ForDial(ForAnswer):
    """A state of one's own. Boost in Pa above the atmosphere, throttle from shut (0) to wide open (1), engine speed."""

    boost_pa: float = Field(ge=-101_325, le=1_000_000)
    throttle: float = Field(ge=0, le=1)
    rpm: float = Field(gt=0, le=30_000)


class ForTrace(ForAnswer):
    """What a space feels and is felt by, in every state or in one."""

    space: Name
    state: Name | None = None


class ForSpray(ForAnswer):
    """Where cleaner comes out that is sprayed into a space or a way."""

    space: Name | None = None
    way: Name | None = None

    @model_validator(mode="after")
    def _one_place(self) -> ForSpray:
        if (self.space is None) == (self.way is None):
            raise ValueError("name one place: a space or a way")
        return self


class ForLesson(ForScene):
    """Questions about what stands on the board."""

    base: Name
    seed: Seed
    count: int = Field(ge=1, le=MOST_QUESTIONS)


class ForHunt(ForScene):
    """A hidden fault to find."""

    base: Name
    seed: Seed


Kind = TypeVar("Kind", bound=_Request)


def read_request(kind: type[Kind], body: bytes) -> Kind:
    """A request from the bytes of its body.

    Raises:
        BadDescription: not JSON (RFC 8259: no NaN, UTF-8 only), nested too deep, or not of this kind; names the field.
    """
    try:
        return kind.model_validate_json(body)
    except ValidationError as error:
        raise BadDescription(list(_problems(kind, error))) from None


def _problems(kind: type[_Request], error: ValidationError) -> Iterator[Problem]:
    details = error.errors(include_url=False)
    for detail in details[:MOST_TOLD]:
        if detail["type"] == "json_invalid":
            yield Problem(f"is not JSON: {detail.get('ctx', {}).get('error', 'cannot be read')}", field="request")
        else:
            yield Problem(describe(kind, detail), field=_field(detail["loc"]))
    if len(details) > MOST_TOLD:
        yield Problem(f"and {len(details) - MOST_TOLD} more; mend these first", field="request")


def _field(location: tuple[int | str, ...]) -> str:
    field = ".".join(map(str, location)) or "request"
    return field if len(field) <= LONGEST_NAME else f"{field[:LONGEST_NAME]}..."
