"""QR codes for a web address: as SVG, and as the words beside it."""

import re
from io import BytesIO
from urllib.parse import quote

from kb.errors import UsageError
from kb.model.sheet import SheetCode

QUIET = 4
"""Light modules around the code; the standard asks for four."""
MAY_STAND = "%/:?#[]@!$&'()*+,;=~"
"""Signs that an address may hold as they are, beside letters, digits and -._ (RFC 3986)."""
LONGEST = 500
"""Letters of an address; a longer one gives a code too fine to print small."""


def code_of(url: str, says: str) -> SheetCode:
    """Return the code of a web address, other letters written as %... Raises UsageError for what is none."""
    import segno

    url = quote(url, safe=MAY_STAND, errors="replace")
    if not re.fullmatch(r"https?://[!-~]+", url) or len(url) > LONGEST:
        raise UsageError(
            f"'{url}' is no web address that can be printed; it begins with http:// or https:// and has at most "
            f"{LONGEST} letters."
        )
    out = BytesIO()
    segno.make(url, error="m", micro=False).save(
        out, kind="svg", border=QUIET, xmldecl=False, svgclass=None, lineclass=None, omitsize=True, light="#ffffff"
    )
    return SheetCode(url, says, out.getvalue().decode("utf-8"))
