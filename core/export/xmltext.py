"""Writing XML: elements with their text, and the whole as UTF-8."""

from __future__ import annotations

from xml.etree import ElementTree as ET

Element = ET.Element


def root(tag: str, namespace: str, **attributes: str) -> Element:
    """The outermost element, in the namespace that all in it belong to."""
    return ET.Element(tag, {"xmlns": namespace, **attributes})


def add(parent: Element, tag: str, text: str | None = None, **attributes: str) -> Element:
    """Put an element into another, as its last, and return it."""
    element = ET.SubElement(parent, tag, attributes)
    element.text = text
    return element


def written(element: Element) -> bytes:
    """A document with its declaration, indented, in UTF-8."""
    ET.indent(element)
    body: bytes = ET.tostring(element, encoding="utf-8", xml_declaration=True)
    return body + b"\n"
