"""What goes wrong as programs are told it: a status, and problems with field, what is wrong and a remedy."""

from loopwright.book import BookBusy, BookError
from loopwright.errors import BuildError, Cancelled, LoopwrightError, Problem
from loopwright.studies.entering import KeyTaken
from loopwright.web.api_refusal import Refused
from loopwright.web.desk import MayNot
from loopwright.web.faults import Unforeseen
from loopwright.web.identity import NotSignedIn
from loopwright.web.wording import say
from loopwright.web.workroom import WorkroomStopped


def status_of(error: LoopwrightError) -> int:
    """The status that an error is told with."""
    match error:
        case Refused():
            return error.status
        case MayNot():
            return 403
        case NotSignedIn():
            return 401
        case KeyTaken():
            return 409
        case BookError() | WorkroomStopped() | Cancelled():
            return 503
        case Unforeseen():
            return 500
    return 422


def problems_of(error: LoopwrightError) -> tuple[Problem, ...]:
    """What is wrong, and what would do."""
    match error:
        case Refused() | BuildError():
            return error.problems
        case BookError():
            return (error.problem,)
        case Unforeseen():
            return (Problem("", say("api.unforeseen"), say("api.unforeseen_remedy")),)
    what, remedy = getattr(error, "what", str(error)), getattr(error, "remedy", say("api.look_again"))
    return (Problem("", what, remedy),)


def again_after(error: LoopwrightError) -> int | None:
    """Seconds after which it is worth asking again; None where that would not help."""
    return 1 if isinstance(error, BookBusy | WorkroomStopped) else None
