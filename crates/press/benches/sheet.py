"""Thirty labels on letter and a price list of twelve goods, with reportlab.

Reads the caution on the first line, then name, tab, path of each face; writes the
fastest of thirty runs of each page in seconds. Neither page is tagged or archival.
"""

import io
import sys
import time

from reportlab.graphics import renderPDF
from reportlab.graphics.barcode.eanbc import Ean8BarcodeWidget
from reportlab.graphics.shapes import Drawing
from reportlab.lib.enums import TA_LEFT
from reportlab.lib.pagesizes import A4, letter
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen import canvas
from reportlab.platypus import Paragraph, SimpleDocTemplate, Spacer, Table, TableStyle

GOODS = ["Harbour Fig", "Rainy Loft", "Peat &amp; Plum", "Tin Roof Mint", "Salt Hay", "Lamp Oil and Oranges"]

caution = sys.stdin.readline().strip()
for line in sys.stdin:
    name, path = line.rstrip("\n").split("\t")
    pdfmetrics.registerFont(TTFont(name, path))

SMALL = ParagraphStyle("small", fontName="sans", fontSize=1.75 * mm, leading=2.19 * mm, alignment=TA_LEFT)
BODY = ParagraphStyle("body", fontName="sans", fontSize=3.7 * mm, leading=5 * mm)
STRONG = ParagraphStyle("strong", parent=BODY, fontName="sans-bold")
TITLE = ParagraphStyle("title", fontName="serif-bold", fontSize=7.8 * mm, leading=9 * mm, spaceAfter=3 * mm)


def label(page, left, top, idx):
    def text(x, y, face, size, words):
        page.setFont(face, size * mm)
        page.drawString(left + x * mm, top - y * mm, words)

    text(2.5, 6.0, "serif-bold", 4.2, GOODS[idx % 6].replace("&amp;", "&"))
    text(2.5, 9.6, "serif-italic", 2.6, "Scented wax melt")
    words = Paragraph(caution, SMALL)
    _, high = words.wrap(37 * mm, 20 * mm)
    words.drawOn(page, left + 2.5 * mm, top - 10.4 * mm - high)
    text(2.5, 23.8, "sans", 2.0, "Lot 2611-%02d" % idx)
    text(21.0, 23.8, "sans-bold", 2.4, "NET WT 2.6 OZ (73 g)")
    page.setFont("sans", 1.75 * mm)
    page.drawRightString(left + 64 * mm, top - 3.4 * mm, "Quillfen Wax Works, Port Averin")
    code = Ean8BarcodeWidget("9638507", barWidth=0.264 * mm, barHeight=14.6 * mm, fontName="sans")
    holder = Drawing(22 * mm, 18 * mm)
    holder.add(code)
    renderPDF.draw(holder, page, left + 43 * mm, top - 22 * mm)


def sheet():
    out = io.BytesIO()
    page = canvas.Canvas(out, pagesize=letter, invariant=1)
    page.setTitle("Labels")
    for place in range(30):
        row, column = divmod(place, 3)
        left = (4.7625 + column * 69.85) * mm
        top = letter[1] - (12.7 + row * 25.4) * mm
        label(page, left, top, place // 5)
    page.save()
    return out.getvalue()


def price_list():
    out = io.BytesIO()
    document = SimpleDocTemplate(out, pagesize=A4, title="Price list", invariant=1)
    rows = [["Scent", "Format", "Net weight", "Trade", "In the shop"]]
    for idx in range(12):
        rows.append(
            [
                Paragraph(GOODS[idx % 6], STRONG),
                Paragraph("six-cavity shell" if idx < 6 else "snap bar", BODY),
                Paragraph("2.6 oz (73 g)", BODY),
                Paragraph("%d.25 USD" % (3 + idx % 3), BODY),
                Paragraph("%d.50 USD" % (6 + idx % 3), BODY),
            ]
        )
    table = Table(rows, repeatRows=1)
    table.setStyle(
        TableStyle(
            [
                ("FONT", (0, 0), (-1, 0), "sans-bold", 3.1 * mm),
                ("LINEBELOW", (0, 0), (-1, -1), 0.4, "black"),
            ]
        )
    )
    document.build(
        [
            Paragraph("Quillfen Wax Works, Port Averin", TITLE),
            Paragraph("Prices to shops from 1 December, for six or more of a scent.", BODY),
            Spacer(1, 3 * mm),
            table,
            Spacer(1, 3 * mm),
            Paragraph("Scents last longest away from sun and heat. Best within eighteen months.", BODY),
        ]
    )
    return out.getvalue()


for draw in (sheet, price_list):
    seconds = []
    for _ in range(30):
        started = time.perf_counter()
        draw()
        seconds.append(time.perf_counter() - started)
    print(min(seconds))
