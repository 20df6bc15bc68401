"""The painted pieces as safe SVG: nothing in an export may run or fetch anything."""

from __future__ import annotations

from lxml import etree

from panelbeater.errors import DrawingError

SVG = "http://www.w3.org/2000/svg"
XLINK = "http://www.w3.org/1999/xlink"
PAINTING = frozenset({
    "g", "defs", "symbol", "use", "path", "rect", "circle", "ellipse", "line", "polyline",
    "polygon", "image", "text", "tspan", "linearGradient", "radialGradient", "stop",
    "clipPath", "mask", "pattern", "filter", "feGaussianBlur", "feOffset", "feBlend",
    "feColorMatrix", "feComposite", "feFlood", "feMerge", "feMergeNode",
})  # fmt: skip
"""Elements that only paint; all else (scripts, links, animation, pages) is left out."""


def safe_markup(markup: str, *, owner: str, keep_ids: bool) -> str:
    """Elements that paint and nothing else, as a fragment of SVG.

    `owner` is named in the DrawingError raised when the markup is not XML. Ids stay
    only where `keep_ids` asks, as the definitions need them: two copies of a piece must not
    share one.
    """
    parser = etree.XMLParser(
        resolve_entities=False, no_network=True, remove_comments=True, remove_pis=True
    )
    wrapped = f'<svg xmlns="{SVG}" xmlns:xlink="{XLINK}">{markup}</svg>'
    try:
        root = etree.fromstring(wrapped.encode(), parser)
    except etree.XMLSyntaxError as error:
        raise DrawingError(
            f"the artwork of {owner} is not well-formed SVG: {error}"
        ) from error
    return "".join(_painting(child, keep_ids=keep_ids) for child in root)


def _painting(element: etree._Element, *, keep_ids: bool) -> str:
    name = etree.QName(element)
    if name.localname not in PAINTING or name.namespace not in (SVG, None):
        return ""
    attributes = "".join(
        f' {key}="{_escaped(value)}"'
        for key, value in map(_attribute, element.attrib.items())
        if _is_harmless(key, value) and (keep_ids or key != "id")
    )
    inside = _escaped(element.text or "") if name.localname in ("text", "tspan") else ""
    inside += "".join(_painting(child, keep_ids=keep_ids) for child in element)
    return f"<{name.localname}{attributes}>{inside}</{name.localname}>"


def _attribute(item: tuple[str | bytes, str | bytes]) -> tuple[str, str]:
    """Plain name and value; drawing programs' own namespaces come out as an empty name."""
    key, value = str(item[0]), str(item[1])
    name = etree.QName(key)
    if name.namespace == XLINK and name.localname == "href":
        return "href", value
    return (name.localname if name.namespace is None else ""), value


def _is_harmless(key: str, value: str) -> bool:
    if not key or key.lower().startswith("on"):
        return False
    packed = "".join(value.split()).lower()
    if key == "href":
        return packed.startswith(("#", "data:image/png", "data:image/jpeg"))
    outside = packed.replace("url(#", "").replace("url('#", "").replace('url("#', "")
    return "url(" not in outside and "javascript:" not in outside


def _escaped(text: str) -> str:
    return (
        text.replace("&", "&amp;")
        .replace("<", "&lt;")
        .replace(">", "&gt;")
        .replace('"', "&quot;")
    )
