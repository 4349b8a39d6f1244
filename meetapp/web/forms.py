"""Posted forms: read once, checked once, with a plain sentence per field.

A route asks for `FormDep`, reads its model with `form.read(Model)`, and gives `form.deed(actor)` to the flow.
"""

import hashlib
import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from functools import cache
from typing import Annotated, Any, TypeVar

from fastapi import Depends, Request
from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, ValidationError
from python_multipart.multipart import parse_options_header
from starlette.datastructures import UploadFile

from meetapp.flows.deeds import Actor, Deed
from meetapp.flows.errors import MeetError
from meetapp.web.bodies import most_bytes
from meetapp.web.security import check_form_token
from meetapp.web.state import state_of

MAX_UPLOAD_BYTES = 2_000_000
_KEY_FIELD, _TOKEN_FIELD = FORM_FIELDS = "operation_key", "csrf_token"


class FormModel(BaseModel):
    """Base of every form's model: spaces around values go away, unknown fields are ignored."""

    model_config = ConfigDict(str_strip_whitespace=True, frozen=True)


@cache
def title_of(name: str) -> str:
    """What the forms call a field of this name; where they don't agree, or say nothing, the name itself in words."""
    fields = (model.model_fields.get(name) for model in FormModel.__subclasses__())
    titles = {info.title for info in fields if info is not None and info.title}
    title = _label(name, titles.pop() if len(titles) == 1 else None)
    return title[:1].upper() + title[1:]


def _label(name: str, title: str | None) -> str:
    return (title or name.replace("_", " ")).strip()


def _empty_to_none(value: Any) -> Any:
    return None if isinstance(value, str) and not value.strip() else value


Blank = BeforeValidator(_empty_to_none)
"""Put on an optional field: an empty box means 'nothing'."""

LARGEST_ID = 2**31 - 1
"""The largest number of a row: PostgreSQL's INTEGER (SQLite could take more, and has no use for it)."""

RowId = Annotated[int, Field(ge=1, le=LARGEST_ID)]
OptionalRowId = Annotated[RowId | None, Blank]
OptionalInt = Annotated[int | None, Blank]
OptionalFloat = Annotated[float | None, Blank]
ShortText = Annotated[str, Field(min_length=1, max_length=80)]
LongText = Annotated[str, Field(max_length=2000)]
Mhz = Annotated[int, Field(ge=1000, le=10_000)]


def row_id(text: str) -> int | None:
    """The number of a row that a text is; None where it is none, or none that a row could have.

    >>> row_id("12"), row_id("2147483648"), row_id("x"), row_id("")
    (12, None, None, None)
    """
    return int(text) if text.isdecimal() and len(text) < 11 and int(text) <= LARGEST_ID else None


class BadForm(MeetError):
    """What a person has to correct, by field name ('' for the whole form); `message` is all of it."""

    code = "bad_form"

    def __init__(self, errors: Mapping[str, str]) -> None:
        super().__init__(" ".join(errors.values()))
        self.errors = dict(errors)


M = TypeVar("M", bound=FormModel)


@dataclass(frozen=True, slots=True)
class PostedForm:
    """What was sent. `values` has the last value per name (what a re-shown form is filled with)."""

    pairs: tuple[tuple[str, str], ...]
    files: Mapping[str, bytes]
    key: str
    digest: str
    now: datetime

    @property
    def values(self) -> dict[str, str]:
        """The last value sent for each name."""
        return dict(self.pairs)

    def all(self, name: str) -> tuple[str, ...]:
        """Every value sent for a name (ticked boxes)."""
        return tuple(value for key, value in self.pairs if key == name)

    def read(self, model: type[M]) -> M:
        """The form as a checked model. Fields declared as a list or tuple get every value sent.

        Raises:
            BadForm: with one sentence per field.
        """
        given: dict[str, Any] = dict(self.pairs)
        for name, info in model.model_fields.items():
            if "tuple" in str(info.annotation) or "list" in str(info.annotation):
                given[name] = self.all(name)
        try:
            return model.model_validate(given)
        except ValidationError as error:
            raise BadForm(dict(_sentences(error, model))) from error

    def without(self, name: str) -> "PostedForm":
        """The same form with one field forgotten (a secret isn't shown again)."""
        return replace(self, pairs=tuple(pair for pair in self.pairs if pair[0] != name))

    def deed(self, actor: Actor) -> Deed:
        """This form as a deed of `actor`, at the time it was received. Whose it is counts as content: somebody else who
        sends the same key doesn't get the first one's answer.
        """
        whose = f"{self.digest} {actor.role} {actor.pilot_id}"
        return Deed(self.key, hashlib.sha256(whose.encode()).hexdigest(), actor, self.now)


def asked_in_address(request: Request, now: datetime) -> PostedForm:
    """A question that stands in the address, read like a form: no token, since nothing is changed by asking."""
    return PostedForm(tuple(request.query_params.multi_items()), {}, "", "", now)


async def read_form(request: Request) -> PostedForm:
    """Read the posted form, check its token, make the digest that a resend must equal."""
    state = state_of(request)
    pairs: list[tuple[str, str]] = []
    files: dict[str, bytes] = {}
    _check_charset(request.headers.get("content-type", ""))
    most = most_bytes(request.url.path)  # of the whole body, which is counted as it comes; a field may be all of it
    async with request.form(max_fields=2000, max_files=1, max_part_size=most) as form:
        for name, value in form.multi_items():
            if isinstance(value, UploadFile):
                files[name] = await _read_upload(value, name)
            else:
                pairs.append((name, value.replace("\x00", "")))
    sent = dict(pairs)
    check_form_token(request, state.server_secret, sent.get(_TOKEN_FIELD, ""))
    key = sent.get(_KEY_FIELD, "")
    if not 8 <= len(key) <= 64:
        raise BadForm({"": "This form has no operation key. Load the page again and send it once more."})
    posted = PostedForm(tuple(pairs), files, key, _digest(request.url.path, pairs, files), state.clock())
    request.state.posted = posted
    return posted


def _check_charset(content_type: str) -> None:
    """Our pages send UTF-8 and say nothing of it. Python knows others, that make halves of characters or take a minute
    for one form.
    """
    _type, options = parse_options_header(content_type)
    if options.get(b"charset", b"utf-8").lower() != b"utf-8":
        raise BadForm({"": "This form isn't sent in UTF-8. Load the page again and send it once more."})


async def _read_upload(upload: UploadFile, name: str) -> bytes:
    content = await upload.read(MAX_UPLOAD_BYTES + 1)
    if len(content) > MAX_UPLOAD_BYTES:
        raise BadForm({name: "This file is larger than 2 MB. Send a smaller one."})
    return content


def _digest(path: str, pairs: list[tuple[str, str]], files: Mapping[str, bytes]) -> str:
    # The digest is stored: a fast hash of a password must not stand beside the slow one.
    kept = [pair for pair in pairs if pair[0] not in (_TOKEN_FIELD, _KEY_FIELD) and "password" not in pair[0]]
    told = json.dumps([path, kept, {name: hashlib.sha256(data).hexdigest() for name, data in files.items()}])
    return hashlib.sha256(told.encode()).hexdigest()


FormDep = Annotated[PostedForm, Depends(read_form)]


def _sentences(error: ValidationError, model: type[FormModel]) -> Iterator[tuple[str, str]]:
    for item in error.errors():
        name = str(item["loc"][0]) if item["loc"] else ""
        info = model.model_fields.get(name)
        label = _label(name, info.title if info else None)
        yield name, _sentence(item["type"], item.get("ctx", {}), label, item["msg"])


_KIND_SENTENCES = {
    "missing": "Fill in: {label}.",
    "string_too_short": "Fill in: {label}.",
    "string_too_long": "{Label} is too long: {max_length} characters at most.",
    "int_parsing": "{Label} must be a whole number.",
    "int_type": "Fill in: {label}.",
    "int_from_float": "{Label} must be a whole number.",
    "float_parsing": "{Label} must be a number.",
    "float_type": "Fill in: {label}.",
    "finite_number": "{Label} must be a number.",
    "greater_than": "{Label} must be more than {gt}.",
    "greater_than_equal": "{Label} must be at least {ge}.",
    "less_than": "{Label} must be less than {lt}.",
    "less_than_equal": "{Label} must be at most {le}.",
    "date_from_datetime_parsing": "{Label} must be a date such as 2026-06-14.",
    "date_parsing": "{Label} must be a date such as 2026-06-14.",
    "enum": "Choose one of the answers for: {label}.",
    "literal_error": "Choose one of the answers for: {label}.",
    "string_pattern_mismatch": "{Label} has characters that don't belong there.",
}


def _sentence(kind: str, context: Mapping[str, Any], label: str, message: str) -> str:
    if kind == "value_error":
        return message.removeprefix("Value error, ")
    template = _KIND_SENTENCES.get(kind, "{Label} can't be read. Check it.")
    return template.format(label=label, Label=label[:1].upper() + label[1:], **context)
