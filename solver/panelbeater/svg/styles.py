"""How style sheets, classes and attributes decide what an element looks like."""

from __future__ import annotations

import re
from dataclasses import dataclass

from lxml import etree

from panelbeater.svg.guard import local_name

# SVG 2, appendix "Property index": initial values of the inherited properties we draw by.
INITIAL: dict[str, str] = {
    "clip-rule": "nonzero",
    "color": "#000000",
    "fill": "#000000",
    "fill-opacity": "1",
    "fill-rule": "nonzero",
    "paint-order": "normal",
    "stroke": "none",
    "stroke-dasharray": "none",
    "stroke-dashoffset": "0",
    "stroke-linecap": "butt",
    "stroke-linejoin": "miter",
    "stroke-miterlimit": "4",
    "stroke-opacity": "1",
    "stroke-width": "1",
    "visibility": "visible",
}
OWN = (
    "clip-path", "display", "filter", "marker-end", "marker-mid", "marker-start", "mask",
    "opacity", "overflow", "stop-color", "stop-opacity", "transform", "transform-origin",
    "vector-effect",
)  # fmt: skip
_NAMES = frozenset((*INITIAL, *OWN))
_COMMENT = re.compile(r"/\*.*?(?:\*/|\Z)|<!--|-->", re.DOTALL)
_STEP = re.compile(r"(\*|[\w-]+)?((?:[.#][\w-]+)*)$")


@dataclass(frozen=True, slots=True)
class _Step:
    """One compound of a selector, such as path.red, and whether its parent comes next."""

    tag: str
    ids: tuple[str, ...]
    classes: tuple[str, ...]
    is_child: bool

    def holds(self, element: etree._Element) -> bool:
        if self.tag not in ("", "*", local_name(element)):
            return False
        classes = (element.get("class") or "").split()
        return all(element.get("id") == name for name in self.ids) and all(
            name in classes for name in self.classes
        )


@dataclass(frozen=True, slots=True)
class Rule:
    """One selector with what it sets."""

    steps: tuple[_Step, ...]
    sets: dict[str, str]

    @property
    def weight(self) -> tuple[int, int, int]:
        """Specificity: ids, classes, tags (CSS Selectors 3, section 9)."""
        return (
            sum(len(step.ids) for step in self.steps),
            sum(len(step.classes) for step in self.steps),
            sum(step.tag not in ("", "*") for step in self.steps),
        )

    def holds(self, element: etree._Element) -> bool:
        """Whether the selector picks this element."""
        if not self.steps[-1].holds(element):
            return False
        at: etree._Element | None = element
        for step, outer in zip(self.steps[:0:-1], self.steps[-2::-1], strict=True):
            at = None if at is None else at.getparent()
            while at is not None and not outer.holds(at) and not step.is_child:
                at = at.getparent()
            if at is None or not outer.holds(at):
                return False
        return True


def _declared(text: str) -> dict[str, str]:
    found: dict[str, str] = {}
    for part in text.split(";"):
        name, colon, value = part.partition(":")
        if colon and name.strip().lower() in _NAMES:
            found[name.strip().lower()] = value.strip()
    return found


def _steps(selector: str) -> tuple[_Step, ...] | None:
    """The compounds of a selector, or None when it uses more than tags, ids and classes."""
    steps, is_child = [], False
    for word in selector.replace(">", " > ").split():
        if word == ">":
            is_child = True
            continue
        found = _STEP.match(word)
        if found is None:
            return None
        marks = re.findall(r"([.#])([\w-]+)", found[2])
        ids = tuple(name for mark, name in marks if mark == "#")
        classes = tuple(name for mark, name in marks if mark == ".")
        steps.append(_Step(found[1] or "", ids, classes, is_child))
        is_child = False
    return tuple(steps) or None


def read_rules(root: etree._Element) -> tuple[Rule, ...]:
    """All style sheet rules of the file, weakest first."""
    rules = []
    for element in root.iter():
        if local_name(element) != "style":
            continue
        text = _COMMENT.sub("", "".join(map(str, element.itertext())))
        for block in text.split("}")[:-1]:
            selectors, _, body = block.rpartition("{")
            for selector in selectors.rpartition("{")[2].split(","):
                steps = _steps(selector.strip())
                if steps is not None:
                    rules.append(Rule(steps, _declared(body)))
    return tuple(sorted(rules, key=lambda rule: rule.weight))


def sheet_work(root: etree._Element, rules: tuple[Rule, ...]) -> int:
    """How many times a selector is held against an element when all are looked up."""
    n_climbing = sum(len(rule.steps) > 1 for rule in rules)
    work, level = 0, 0
    for event, _ in etree.iterwalk(root, events=("start", "end")):
        level += 1 if event == "start" else -1
        work += len(rules) + n_climbing * level if event == "start" else 0
    return work


def declarations(element: etree._Element, rules: tuple[Rule, ...]) -> dict[str, str]:
    """What this element itself sets: attributes, then rules, then its style attribute, and
    whatever is marked important last.
    """
    found: dict[str, str] = {}
    urgent: dict[str, str] = {}
    attributes = {
        name: str(value).strip()
        for name, value in element.attrib.items()
        if isinstance(name, str) and name in _NAMES
    }
    sources = [attributes, *(rule.sets for rule in rules if rule.holds(element))]
    for source in [*sources, _declared(element.get("style") or "")]:
        for name, value in source.items():
            if value.endswith("!important"):
                urgent[name] = value.removesuffix("!important").strip()
            else:
                found[name] = value
    return found | urgent


def inherited(parent: dict[str, str], own: dict[str, str]) -> dict[str, str]:
    """The inherited properties of an element, from its parent's and its own."""
    style = dict(parent)
    for name, value in own.items():
        if name in INITIAL and value and value != "inherit":
            style[name] = INITIAL[name] if value == "initial" else value
    if style["color"].lower() == "currentcolor":
        style["color"] = parent["color"]
    return style
