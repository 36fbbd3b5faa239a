"""
Templates to pages. All that stands in a record goes out as inert text: escaped, and hidden characters made visible.
"""

import base64
import hashlib
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from cylfile import __version__
from cylfile.show.terminal.heading import CAUTION_LINE
from cylfile.show.visible import visible

# Marks the page as stale where the browser can tell the day. A page is whole without it.
_SCRIPT = (
    "var d=new Date(),r=document.documentElement;"
    'if(d.getFullYear()*10000+(d.getMonth()+1)*100+d.getDate()>=r.getAttribute("data-stale"))r.className="stale"'
)
_HASH = base64.b64encode(hashlib.sha256(_SCRIPT.encode()).digest()).decode()
# A page asks for nothing: its style stands in it, and no script runs but that one.
_POLICY = (
    f"default-src 'none'; style-src 'unsafe-inline'; script-src 'sha256-{_HASH}'; base-uri 'none'; form-action 'none'"
)


def _shown(value: Any) -> Any:
    """What a template puts out: a text that is no markup of ours has its hidden characters made visible."""
    if value is None:
        return ""
    return value if value.__class__ is Markup else visible(str(value))


def templates() -> Environment:
    """The templates, with what every page has to say."""
    found = Environment(
        loader=PackageLoader("cylfile.show.site"), autoescape=True, undefined=StrictUndefined, finalize=_shown,
        trim_blocks=True, lstrip_blocks=True,
    )  # fmt: skip
    assert found.loader is not None
    style = found.loader.get_source(found, "site.css")[0]
    found.globals.update(
        caution=CAUTION_LINE, version=__version__, policy=_POLICY, script=Markup(_SCRIPT), style=Markup(_packed(style))
    )
    return found


def _packed(style: str) -> str:
    """The style without the blanks at the ends of its lines, since every page carries it."""
    return "\n".join(line.strip() for line in style.split("\n") if line.strip())
