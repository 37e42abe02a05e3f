"""How every page is made from its template: escaped, strict about what is missing, in one look."""

from importlib.resources import files

from jinja2 import ChoiceLoader, Environment, PackageLoader, StrictUndefined


def templates_of(*packages: str) -> Environment:
    """The templates of packages, of one name the first; what they are given is escaped, what is not given an error."""
    return Environment(
        loader=ChoiceLoader([PackageLoader(package, "templates") for package in packages]),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )


def style_sheet(package: str, name: str) -> str:
    """The text of a style sheet that lies with the templates of a package."""
    return (files(package) / "templates" / name).read_text(encoding="utf-8")
