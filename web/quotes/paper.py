"""A quote as a PDF of one page or more."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from fpdf import FPDF

from web.quotes.offer import Offer

#: Where Debian and others keep a font with all letters; without it the PDF's own Latin ones are used.
FONTS = (
    (
        "/usr/share/fonts/truetype/dejavu/DejaVuSans.ttf",
        "/usr/share/fonts/truetype/dejavu/DejaVuSans-Bold.ttf",
    ),
    ("/usr/share/fonts/dejavu/DejaVuSans.ttf", "/usr/share/fonts/dejavu/DejaVuSans-Bold.ttf"),
)


class _Paper(FPDF):
    def __init__(self, offer: Offer) -> None:
        super().__init__(format="A4")
        self.set_margins(20, 18, 20)
        self.set_auto_page_break(True, 22)
        self.offer = offer
        self.family, self.latin = "helvetica", True
        for plain, bold in FONTS:
            if Path(plain).exists() and Path(bold).exists():
                self.add_font("text", "", plain)
                self.add_font("text", "B", bold)
                self.family, self.latin = "text", False
                break

    def footer(self) -> None:
        self.set_y(-15)
        self.set_font(self.family, size=8)
        self.set_text_color(90)
        self.cell(0, 5, self.words(f"{self.offer.name} · page {self.page_no()} of {{nb}}"), align="R")
        self.set_text_color(0)

    def words(self, text: str) -> str:
        """The text, as far as the font has its letters."""
        return text.encode("latin-1", "replace").decode("latin-1") if self.latin else text

    def say(self, text: str, size: float = 10, bold: bool = False, gap: float = 1.5) -> None:
        """A paragraph."""
        self.set_font(self.family, "B" if bold else "", size)
        self.multi_cell(0, size * 0.5, self.words(text), new_x="LMARGIN", new_y="NEXT")
        self.ln(gap)

    def rows(self, rows: Sequence[tuple[str, str]]) -> None:
        """Words on the left, what they say on the right."""
        for left, right in rows:
            top = self.get_y()
            self.set_font(self.family, size=10)
            self.set_text_color(90)
            self.multi_cell(48, 5.5, self.words(left), new_x="RIGHT", new_y="TOP")
            self.set_text_color(0)
            self.set_xy(68, top)
            self.multi_cell(0, 5.5, self.words(right), new_x="LMARGIN", new_y="NEXT")


def pdf_of(offer: Offer) -> bytes:
    """The offer on paper."""
    paper = _Paper(offer)
    paper.set_title(f"Quote {offer.name}")
    paper.set_creation_date(offer.made_at)
    paper.add_page()
    paper.say(offer.shop, 10, gap=6)
    paper.say(f"Quote {offer.name}", 20, bold=True, gap=4)
    paper.rows(offer.heads)
    paper.ln(5)
    paper.say("Parts", 12, bold=True)
    paper.set_font(paper.family, size=10)
    with paper.table(
        col_widths=(30, 13, 20, 37), line_height=6, borders_layout="HORIZONTAL_LINES", text_align="LEFT"
    ) as table:
        for row in (("Part", "Pieces", "Material", "Size and what else"), *offer.parts):
            cells = table.row()
            for cell in row:
                cells.cell(paper.words(cell))
    paper.ln(5)
    paper.say("Date", 12, bold=True)
    for line in offer.date:
        paper.say(line)
    paper.ln(2)
    paper.say("Price", 12, bold=True)
    paper.rows(offer.price)
    paper.ln(4)
    paper.say("What this stands on", 12, bold=True)
    for line in offer.assumptions:
        paper.say(f"– {line}", 9, gap=0.8)
    paper.ln(2)
    paper.say("Cautions", 12, bold=True)
    for line in offer.cautions:
        paper.say(f"– {line}", 9, gap=0.8)
    return bytes(paper.output())
