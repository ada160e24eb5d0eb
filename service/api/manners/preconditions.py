"""If-Match on a request that only reads: what is there has to be what the caller asks for.

Own code: werkzeug takes the asterisk for a tag that nothing has, and lets If-Match rule alone where
If-None-Match is sent too. A change asks for its condition within its own transaction instead.

Source: RFC 9110, sections 13.1.1 (If-Match), 13.2.1 (when it is looked at) and 13.2.2 (in which
order).
"""

from flask import Response, g, request
from werkzeug.datastructures import ETags
from werkzeug.http import parse_etags

from service.api.manners.compression import of_state
from service.api.problems import refuse
from service.domain.errors import StaleState

READING = ("GET", "HEAD")
_HEADER = "HTTP_IF_MATCH"


def find_condition() -> None:
    """Read If-Match for the state it names, in whichever form that was read.

    That of a request which reads is set aside until there is something to hold it against.
    """
    sent = request.headers.get("If-Match")
    if sent is None:
        return
    if request.method in READING:
        g.wanted = parse_etags(of_state(sent))
        del request.environ[_HEADER]
    else:
        request.environ[_HEADER] = of_state(sent)


def unless_wanted(response: Response) -> Response | None:
    """Give the refusal of an answer that is not what the caller asks for, None where it is."""
    wanted: ETags | None = g.get("wanted")
    tag, weak = response.get_etag()
    if wanted is None or wanted.star_tag or (tag and not weak and wanted.is_strong(tag)):
        return None
    response.close()
    return refuse(
        StaleState("What is here is not what If-Match names.", advice="Read it without If-Match.")
    )
