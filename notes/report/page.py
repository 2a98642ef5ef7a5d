"""A paper as one HTML page: everything escaped, nothing fetched, for screen and print, light and dark."""

from base64 import b64encode

from notes.report.document import Document, Picture

_KINDS = {"jpg": "image/jpeg", "svg": "image/svg+xml"}


def write_page(document: Document) -> str:
    """The page; its notes stand in `data-notes` of each part."""
    return _filled("document.html", document)


def write_sections(document: Document) -> str:
    """What stands on the page, as a part of another."""
    return _filled("sections.html", document)


def _filled(template: str, document: Document) -> str:
    from jinja2 import Environment, PackageLoader, StrictUndefined

    environment = Environment(
        loader=PackageLoader("notes.report"), autoescape=True, undefined=StrictUndefined, keep_trailing_newline=True
    )
    environment.filters["data_uri"] = _data_uri
    return environment.get_template(template).render(document=document)


def _data_uri(picture: Picture) -> str:
    return f"data:{_KINDS[picture.form]};base64,{b64encode(picture.data).decode()}"
