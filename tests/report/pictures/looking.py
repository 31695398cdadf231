"""Pictures as text, read back: where marks, lines and words stand. Knows SVG, not how it was made."""

import re
from collections.abc import Iterator
from xml.etree import ElementTree

SVG = "{http://www.w3.org/2000/svg}"


def parts(pictures: str) -> list[ElementTree.Element]:
    """Each picture of a text; raises where one is not well-formed."""
    return list(ElementTree.fromstring(f"<all>{pictures}</all>"))


def one(picture: str) -> ElementTree.Element:
    """The only picture of a text."""
    (found,) = parts(picture)
    return found


def group(root: ElementTree.Element, kind: str) -> list[ElementTree.Element]:
    """The groups of a class."""
    return [node for node in root.iter(f"{SVG}g") if node.get("class") == kind]


def marks(root: ElementTree.Element) -> list[tuple[str, float, float]]:
    """Every mark from top to bottom: its class, x, y. Those of the legend come last."""
    found = [
        (node.get("class", "").split()[1], float(use.get("x", "")), float(use.get("y", "")))
        for node in root.iter(f"{SVG}g")
        if node.get("class", "").startswith("marks ")
        for use in node.iter(f"{SVG}use")
    ]
    return sorted(found, key=lambda mark: mark[2])


def outlines(path: ElementTree.Element) -> list[list[tuple[float, float]]]:
    """The corners of each line or area of a path."""
    made = []
    for stroke in path.get("d", "").split("M")[1:]:
        numbers = [float(number) for number in re.findall(r"-?[\d.]+", stroke)]
        made.append(list(zip(numbers[::2], numbers[1::2], strict=True)))
    return made


def drawn(root: ElementTree.Element, kind: str) -> list[list[tuple[float, float]]]:
    """The corners of each line or area in the groups of a class."""
    return [one for node in group(root, kind) for path in node.iter(f"{SVG}path") for one in outlines(path)]


def words(root: ElementTree.Element) -> list[str]:
    """All words that are shown, in order."""
    return [node.text or "" for node in root.iter(f"{SVG}text")]


def word_places(root: ElementTree.Element) -> dict[str, tuple[float, float]]:
    """Where words stand."""
    return {
        node.text or "": (float(node.get("x", "")), float(node.get("y", "")))
        for node in root.iter(f"{SVG}text")
    }


def rows(root: ElementTree.Element) -> Iterator[tuple[str, str, float, float]]:
    """Each row that can be pointed at: its title, its link, its top and its height."""
    for node in root.iter():
        area = node.find(f"{SVG}rect")
        if area is not None:
            title = node.findtext(f"{SVG}title") or ""
            yield title, node.get("href", ""), float(area.get("y", "")), float(area.get("height", ""))


def spoken(root: ElementTree.Element) -> tuple[str, str]:
    """Title and sentence of a picture, found by what its image says it is labelled by."""
    by_id = {node.get("id"): node.text or "" for node in root.iter() if node.get("id")}
    (image,) = [node for node in root.iter() if node.get("role") == "img"]
    title, about = image.get("aria-labelledby", "").split()
    return by_id[title], by_id[about]
