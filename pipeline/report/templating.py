"""How every page is made from its template: escaped, strict about what is missing, in one look."""

from importlib.resources import files

from jinja2 import Environment, PackageLoader, StrictUndefined


def templates_of(package: str) -> Environment:
    """The templates of a package; what they are given is escaped, and a name that is not given is an error."""
    return Environment(
        loader=PackageLoader(package, "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )


def style_sheet(package: str, name: str) -> str:
    """The text of a style sheet that lies with the templates of a package."""
    return (files(package) / "templates" / name).read_text(encoding="utf-8")
