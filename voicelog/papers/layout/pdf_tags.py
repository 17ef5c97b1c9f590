"""Tagged text for fpdf2: a tree of headings, paragraphs, tables and lists over the drawn pages.

fpdf2 2.8 writes the structure tree of figures only and keeps it flat.  The classes here
give it a nested one (ISO 32000-1, 14.7 and 14.8): groups hold groups or leaves, a leaf
holds the marked content drawn on one page.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from fpdf import FPDF
from fpdf.structure_tree import StructElem, StructureTreeBuilder
from fpdf.syntax import PDFObject, PDFString


class Element(StructElem):
    """A structure element with attributes, such as the scope of a table head."""

    def __init__(self, kind: str, parent: PDFObject, page: int, alt: str = "", attributes: str = "") -> None:
        super().__init__(f"/{kind}", parent, [], page_number=page, alt=alt or None)
        self.a = attributes or None
        self.actual_text: PDFString | None = None

    def on(self, page: PDFObject) -> None:
        """The page its marked content is drawn on."""
        self.pg: PDFObject | None = page  # type: ignore[assignment]

    def walk(self) -> Iterator[Element]:
        """The element and everything below it."""
        yield self
        for kid in self.k:
            if isinstance(kid, Element):
                yield from kid.walk()


class Tree(StructureTreeBuilder):
    """The structure tree of a document, nested."""

    def __iter__(self) -> Iterator[PDFObject]:
        yield self.struct_tree_root
        yield self.doc_struct_elem
        yield self.struct_tree_root.parent_tree
        for top in self.doc_struct_elem.k:
            yield from top.walk()


class TaggedPDF(FPDF):
    """A document whose content is drawn inside `group`, `leaf` and `artifact`."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.tree = Tree()
        self.struct_builder = self.tree
        self._open: list[Element] = []
        self._marked: dict[int, int] = {}
        """Pieces of marked content so far, by page."""

    @contextmanager
    def group(self, kind: str, *, alt: str = "", attributes: str = "") -> Iterator[Element]:
        """A structure element that holds others; it may run over pages."""
        element = self._element(kind, alt, attributes)
        self._open.append(element)
        try:
            yield element
        finally:
            self._open.pop()

    @contextmanager
    def leaf(self, kind: str, *, alt: str = "", actual: str = "") -> Iterator[None]:
        """A structure element that holds what is drawn meanwhile, on this page.

        `actual` stands for text that is drawn in another order than it is read in
        (ISO 32000-1, 14.9.4).
        """
        element = self._element(kind, alt, "")
        number = self._marked.get(self.page, 0)
        self._marked[self.page] = number + 1
        element.k.append(number)
        element.on(self.pages[self.page])
        parents = self.tree.spid_per_page_number.setdefault(self.page, len(self.tree.spid_per_page_number))
        self.tree.struct_tree_root.parent_tree.nums[parents].append(element)
        self.pages[self.page].struct_parents = parents
        self._set_min_pdf_version("1.7")
        element.actual_text = PDFString(actual) if actual else None
        self._out(f"/{kind} <</MCID {number}>> BDC")
        yield
        self._out("EMC")

    @contextmanager
    def artifact(self) -> Iterator[None]:
        """What is drawn meanwhile is decoration: rules, boxes, page numbers, repeated heads."""
        self._out("/Artifact BMC")
        yield
        self._out("EMC")

    def _element(self, kind: str, alt: str, attributes: str) -> Element:
        parent = self._open[-1] if self._open else self.tree.doc_struct_elem
        element = Element(kind, parent, self.page, alt, attributes)
        parent.k.append(element)
        return element


def scope(name: str) -> str:
    """The attribute that says whether a head cell names a Column or a Row (ISO 32000-1, table 349)."""
    return f"<</O /Table /Scope /{name}>>"
