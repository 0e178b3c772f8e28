"""Measures printed templates on pixels that independent renderers make of them.

Asks for 0.05 mm over 200 mm, on both axes. Every PDF is also checked by qpdf (through pikepdf).
"""

import io
import json
import sys
from pathlib import Path

import numpy
import pikepdf
import pypdfium2
import resvg_py
from PIL import Image

Image.MAX_IMAGE_PIXELS = None
# Pixels in a millimetre; lines are found by the centre of their darkness, to a tenth of a pixel.
FINE = 20.0
# Asked for over 200 mm; longer lengths may be off in proportion.
ASKED_MM = 0.05
OUTLINE_MM = 0.3


def pdf_pages(path):
    """Every page of a PDF as darkness from 0 to 1, rows from above, with pixels to a millimetre across and up."""
    document = pypdfium2.PdfDocument(path)
    for page in document:
        image = page.render(scale=FINE * 25.4 / 72, grayscale=True).to_numpy()
        image = image.reshape(image.shape[0], -1)
        # The renderer stretches a page to whole pixels: how many there really are to a millimetre.
        width, height = page.get_size()
        fine = (image.shape[1] / (width * 25.4 / 72), image.shape[0] / (height * 25.4 / 72))
        yield 1.0 - image.astype(numpy.float32) / 255.0, fine


def svg_page(path):
    """An SVG at true size, as darkness."""
    png = resvg_py.svg_to_bytes(svg_string=path.read_text(), dpi=FINE * 25.4)
    image = numpy.asarray(Image.open(io.BytesIO(bytes(png))).convert("L"))
    return 1.0 - image.astype(numpy.float32) / 255.0


def longest_runs(dark, axis):
    """Longest run of dark pixels in every row (axis 1) or column (axis 0), with where it begins."""
    dark = dark > 0.5
    if axis == 0:
        dark = dark.T
    best = numpy.zeros(dark.shape[0], dtype=int)
    start = numpy.zeros(dark.shape[0], dtype=int)
    run = numpy.zeros(dark.shape[0], dtype=int)
    for place in range(dark.shape[1]):
        run = numpy.where(dark[:, place], run + 1, 0)
        better = run > best
        best = numpy.where(better, run, best)
        start = numpy.where(better, place - run + 1, start)
    return best, start


def centres(values, least):
    """Centres of the bands where values stay above a level, with their thickness."""
    found, begin = [], None
    for place, value in enumerate(numpy.append(values, 0.0)):
        if value >= least and begin is None:
            begin = place
        elif value < least and begin is not None:
            # The darkness beside the band belongs to it.
            low, high = max(begin - 2, 0), min(place + 2, len(values))
            weights = values[low:high]
            centre = float((numpy.arange(low, high) + 0.5) @ weights / weights.sum())
            found.append((centre, place - begin))
            begin = None
    return found


def edges(dark, axis, length_px, fine):
    """Places of the thick straight lines that are so long, in mm."""
    best, start = longest_runs(dark, axis)
    rows = numpy.flatnonzero((best > 0.97 * length_px) & (best < 1.03 * length_px))
    if len(rows) == 0:
        return []
    # Where the lines run: the middle of the longest of them.
    middle = int(start[rows[0]] + best[rows[0]] / 2)
    half = int(0.1 * length_px)
    band = dark[:, middle - half : middle + half] if axis == 1 else dark[middle - half : middle + half, :].T
    profile = band.mean(axis=1)
    return [c / fine for c, thick in centres(profile, 0.7) if thick / fine >= OUTLINE_MM]


def ruler(dark, axis, fine):
    """Length between the first and the last stroke of the ruler along an axis, in mm."""
    best, start = longest_runs(dark, axis)
    span = 100.0 * fine
    rows = [row for row in numpy.flatnonzero((best > 0.97 * span) & (best < 1.045 * span))]
    # The ruler is the lowest such line, or the leftmost.
    row = rows[-1] if axis == 1 else rows[0]
    begin, end = int(start[row]), int(start[row] + best[row])
    off = int(1.2 * fine) * (1 if axis == 1 else -1)
    line = dark[row + off, :] if axis == 1 else dark[:, row + off]
    strokes = [c for c, _ in centres(line[begin - 20 : end + 20], 0.5)]
    assert len(strokes) == 11, len(strokes)
    return (strokes[-1] - strokes[0]) / fine


def close(what, got, wanted, report):
    allowed = ASKED_MM * max(1.0, wanted / 200.0)
    report.append((abs(got - wanted), what, got, wanted))
    assert abs(got - wanted) <= allowed, f"{what}: {got:.4f} mm, {wanted:.4f} mm wanted"


def blank_of(document):
    blank = document["blank"] if "blank" in document else document
    return blank["developed_length_mm"], blank["width_mm"]


def main(work):
    report = []
    for result in sorted(work.glob("*.json")):
        name = result.stem
        length_mm, width_mm = blank_of(json.loads(result.read_text()))
        across, up = (98.7, 101.3) if name.endswith("stretched") else (100.0, 100.0)
        # What such a printer makes of the file.
        fx, fy = across / 100.0, up / 100.0
        pages = list(pdf_pages(work / name / "template.pdf"))
        for number, (dark, fine) in enumerate(pages):
            close(f"{name} page {number + 1} ruler across", ruler(dark, 1, fine[0]) * fx, 100.0, report)
            close(f"{name} page {number + 1} ruler up", ruler(dark, 0, fine[1]) * fy, 100.0, report)
        if len(pages) == 1:
            dark, fine = pages[0]
            ys = edges(dark, 1, length_mm / fx * FINE, fine[1])
            xs = edges(dark, 0, width_mm / fy * FINE, fine[0])
            assert len(xs) == 2 and len(ys) == 2, (name, xs, ys)
            close(f"{name} length", (xs[1] - xs[0]) * fx, length_mm, report)
            close(f"{name} width", (ys[1] - ys[0]) * fy, width_mm, report)
        elif name.startswith("set"):
            # Pages of one row: each shows the blank from an end, or a trimming line, to the next.
            total = 0.0
            tall = width_mm / fy * FINE
            for dark, fine in pages[1:]:
                xs = edges(dark, 0, tall, fine[0])
                # Half of a dotted trimming line is dark, all the way; letters and marks are not.
                share = dark[: int(dark.shape[0] * 0.3), :].mean(axis=0)
                seams = [c / fine[0] for c, _ in centres(share, 0.15)]
                ends = sorted(xs + seams)
                total += (ends[-1] - ends[0]) * fx
            close(f"{name} length over {len(pages) - 1} pages", total, length_mm, report)
        if across == 100.0:
            dark = svg_page(work / name / "blank.svg")
            close(f"{name} svg ruler across", ruler(dark, 1, FINE), 100.0, report)
            close(f"{name} svg ruler up", ruler(dark, 0, FINE), 100.0, report)
            xs = edges(dark, 0, width_mm * FINE, FINE)
            ys = edges(dark, 1, length_mm * FINE, FINE)
            close(f"{name} svg length", xs[-1] - xs[0], length_mm, report)
            close(f"{name} svg width", ys[-1] - ys[0], width_mm, report)
    for path in sorted(work.glob("*/*.pdf")):
        with pikepdf.open(path) as document:
            problems = document.check_pdf_syntax() if hasattr(document, "check_pdf_syntax") else document.check()
            assert not problems, f"{path.name}: {problems}"
            assert str(document.Root.ViewerPreferences.PrintScaling) == "/None"
            assert "/JavaScript" not in str(document.Root.keys())
            if path.parent.name == "level":
                title = str(document.docinfo["/Title"])
                assert title.startswith("level <page> (1\\2) 'x' \"y\" Ω 電"), title
    for off, what, got, wanted in sorted(report, reverse=True)[:8]:
        print(f"{what:44} {got:10.4f} mm, {wanted:10.4f} wanted, off {off:.4f}")
    print(f"{len(report)} lengths measured, furthest off {max(report)[0]:.4f} mm")


main(Path(sys.argv[1]))
