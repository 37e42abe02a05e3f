"""How every page is made from its template: escaped, strict about what is missing, in one look, complete in itself."""

import re
from functools import cache
from importlib.resources import files
from typing import Any

from jinja2 import ChoiceLoader, Environment, PackageLoader, StrictUndefined
from markupsafe import Markup, escape

from pipeline.report.numbers import KEPT

OF_ALL = "pipeline.report"  # the package whose templates and style every page builds on


def page_from(package: str, name: str, **given: Any) -> str:
    """A page as HTML: the template `name`.html of a package, in the style of all pages and then its own, `name`.css.

    given  what the template asks for: texts are escaped, and what is not given is an error
    """
    styles = dict.fromkeys([(OF_ALL, "sheet.css"), (package, f"{name}.css")])
    style = "".join(text_beside_templates(*style) for style in styles)
    return _templates(package).get_template(f"{name}.html").render(style=Markup(style), **given)


def text_beside_templates(package: str, name: str) -> str:
    """A style sheet or script that lies with the templates of a package."""
    return (files(package) / "templates" / name).read_text(encoding="utf-8")


@cache
def _templates(package: str) -> Environment:
    """The templates of a package and those of all pages; of one name the package's."""
    environment = Environment(
        loader=ChoiceLoader([PackageLoader(package, "templates"), PackageLoader(OF_ALL, "templates")]),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters["quiet"] = _quiet_intervals
    environment.filters["whole"] = _whole_words
    return environment


def _whole_words(text: Markup) -> Markup:
    """A heading whose words with a hyphen stay on one line: `door-years` is broken nowhere."""
    return Markup(re.sub(r"\b[a-z]{1,12}-[a-z]{1,12}\b", r'<span class="whole">\g<0></span>', str(text)))


def _quiet_intervals(text: str) -> Markup:
    """The escaped text with each interval, `(11 to 27)`, in the quiet pencil; numbers keep their unit on their line."""
    end = r"(?:[−\d.,]+|beyond the data)"
    escaped = re.sub(r"(?<=\d) %", f"{KEPT}%", str(escape(text)))
    return Markup(re.sub(rf"\(({end}) to ({end})\)", r'<span class="quiet">(\1 to \2)</span>', escaped))
