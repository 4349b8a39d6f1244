"""What a flow can refuse, in words a person can act on. No HTTP here."""


class MeetError(Exception):
    """A refusal: `message` says what is wrong, `hint` what to do next, `field` which form field it is about."""

    code = "meet_error"

    def __init__(self, message: str, hint: str = "", field: str | None = None) -> None:
        super().__init__(message)
        self.message = message
        self.hint = hint
        self.field = field

    @property
    def sentence(self) -> str:
        """The message and the hint, as one text."""
        return f"{self.message} {self.hint}".strip()


class NotFound(MeetError):
    """The thing asked for isn't there (or not for this person)."""

    code = "not_found"


class Forbidden(MeetError):
    """This person's role doesn't cover it."""

    code = "forbidden"


class WrongSecret(Forbidden):
    """A typed PIN or password doesn't fit: a guess, as far as anybody can tell."""


class Refused(MeetError):
    """A rule of the meet says no."""

    code = "refused"


class Conflict(MeetError):
    """Somebody else was first."""

    code = "conflict"
