"""Open files from strangers: nothing is fetched, nothing grows without end."""

from __future__ import annotations

from pathlib import Path
from xml.parsers import expat

from lxml import etree

from panelbeater.errors import DrawingError

MOST_BYTES = 64 * 2**20
MOST_ELEMENTS = 100_000
MOST_COPIES = 10_000
MOST_SHAPES = 2_000
"""A cut-out animator moves a hundred or two; the cost of more grows with their square."""
MOST_LEVELS = 256
MOST_ENTITY_LETTERS = 10_000


class _Counter:
    """Counts what a parser meets and refuses what could do harm."""

    def __init__(self, name: str) -> None:
        self.name = name
        self.levels = 0
        self.elements = 0

    def open_element(self, _tag: str, _attributes: dict[str, str]) -> None:
        self.levels += 1
        self.elements += 1
        if self.levels > MOST_LEVELS:
            raise DrawingError(
                f"{self.name}: groups are nested deeper than {MOST_LEVELS}; ungroup some"
            )
        if self.elements > MOST_ELEMENTS:
            raise DrawingError(
                f"{self.name}: more than {MOST_ELEMENTS} elements; simplify the drawing"
            )

    def close_element(self, _tag: str) -> None:
        self.levels -= 1

    def declare_entity(
        self,
        entity: str,
        _is_parameter: bool,  # noqa: FBT001 - the parser fixes this signature
        value: str | None,
        _base: str | None,
        system: str | None,
        _public: str | None,
        _notation: str | None,
    ) -> None:
        if system is not None:
            raise DrawingError(
                f"{self.name}: entity '{entity}' points outside the file; save as plain SVG"
            )
        # Drawing programs declare short names of namespaces; nested ones grow without end.
        if value and (len(value) > MOST_ENTITY_LETTERS or "&" in value):
            raise DrawingError(
                f"{self.name}: entity '{entity}' is not a short text; save as plain SVG"
            )


def _bytes_of(path: Path) -> bytes:
    try:
        if path.exists() and not path.is_file():  # a pipe would keep us waiting
            raise DrawingError(f"{path.name}: is no plain file; name an SVG file")
        with path.open("rb") as file:
            content = file.read(MOST_BYTES + 1)
    except OSError as error:
        raise DrawingError(f"{path.name}: cannot be opened ({error.strerror})") from error
    except ValueError as error:
        raise DrawingError(f"{path.name!r}: no file can be called that") from error
    if len(content) > MOST_BYTES:
        raise DrawingError(f"{path.name}: larger than 64 MiB; simplify the drawing")
    if not content.strip():
        raise DrawingError(f"{path.name}: the file is empty")
    if content.startswith(b"\x1f\x8b"):
        raise DrawingError(f"{path.name}: is compressed; save it as plain SVG")
    return content


def local_name(element: etree._Element) -> str:
    """The tag without its namespace; empty for comments and instructions."""
    return element.tag.rpartition("}")[2] if isinstance(element.tag, str) else ""


def open_tree(path: Path) -> etree._Element:
    """Parse the file at `path` into its root <svg> element.

    Raises DrawingError, one line, when the file is missing, empty, too large, broken (with
    the line), reaches outside itself, or is no SVG.
    """
    content = _bytes_of(path)
    counter = _Counter(path.name)
    parser = expat.ParserCreate()
    parser.StartElementHandler = counter.open_element
    parser.EndElementHandler = counter.close_element
    parser.EntityDeclHandler = counter.declare_entity
    try:
        parser.Parse(content, True)  # noqa: FBT003 - takes no keywords
    except expat.ExpatError as error:
        reason = expat.ErrorString(error.code)
        raise DrawingError(
            f"{path.name}: line {error.lineno}: the file is broken or cut short ({reason})"
        ) from error
    except (LookupError, ValueError) as error:
        raise DrawingError(
            f"{path.name}: line 1: its encoding is not known here; save it as UTF-8"
        ) from error
    # The parser above accepted it; recovering here only forgives undeclared prefixes.
    reader = etree.XMLParser(
        recover=True,
        no_network=True,
        load_dtd=False,
        huge_tree=False,
        resolve_entities=True,
    )
    try:
        root = etree.fromstring(content, reader)
    except etree.XMLSyntaxError as error:
        raise DrawingError(f"{path.name}: the file is broken ({error.msg})") from error
    # What it gave up on would be missing from the drawing without a word.
    lost = [e for e in reader.error_log if e.domain_name != "NAMESPACE"]
    if lost:
        raise DrawingError(
            f"{path.name}: line {lost[0].line}: too much in one place "
            f"({lost[0].message.strip()}); simplify the drawing"
        )
    if root is None or local_name(root) != "svg":
        found = "nothing" if root is None else f"<{local_name(root)}>"
        raise DrawingError(f"{path.name}: is not an SVG drawing (it holds {found})")
    return root
