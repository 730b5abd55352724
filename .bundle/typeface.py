"""Cut the program's typeface from its source: `python .bundle/typeface.py UPRIGHT.ttf ITALIC.ttf`.

The sources are the variable fonts of IBM Plex Sans (SIL Open Font License, version 1.1; the licence
beside the result names the owner). What is made has another name, as that licence asks of a changed
font whose name is reserved: Bobweight Sans. It is a little narrower than its source, so that tables
and forms find room, with less space between lines; it keeps the letters of European languages and
the signs of the trade; signs that the source has not (cross, triangles, circles) are drawn here.

Needs fonttools, which nothing else in the program does.
"""

import math
import sys
from pathlib import Path

from fontTools import subset
from fontTools.misc.transform import Transform
from fontTools.pens.transformPen import TransformPen
from fontTools.pens.ttGlyphPen import TTGlyphPen
from fontTools.ttLib import TTFont
from fontTools.varLib import instancer

OUT = Path(__file__).resolve().parent.parent / "app" / "typeface"
FAMILY = "Bobweight Sans"
WIDTH = 94  # per cent of the normal width, an axis of the source
CUTS = {"Regular": (0, 400, 400), "Bold": (0, 620, 700), "Italic": (1, 400, 400)}
"""Of each style: which source, the weight that is cut, the weight it answers to."""
ASCENT, DESCENT = 0.97, 0.25  # of the em: a line takes 1.22
KEPT = (
    (0x20, 0x7E), (0xA0, 0x17F), (0x1E9E, 0x1E9E), (0x386, 0x3CE), (0x400, 0x45F), (0x2009, 0x2009),
    (0x2010, 0x2022), (0x2026, 0x2026), (0x2030, 0x2033), (0x2039, 0x203A), (0x2044, 0x2044),
    (0x2070, 0x208E), (0x20AC, 0x20AC), (0x2113, 0x2113), (0x2116, 0x2116), (0x2122, 0x2122),
    (0x2126, 0x2126), (0x2150, 0x215E), (0x2190, 0x2199), (0x21BA, 0x21BB), (0x2202, 0x2265),
    (0x25A0, 0x25FF), (0x2713, 0x2713),
)  # fmt: skip


def cut(source: str, weight: int) -> TTFont:
    font = instancer.instantiateVariableFont(
        TTFont(source), {"wght": weight, "wdth": WIDTH}, updateFontNames=False
    )
    options = subset.Options()
    options.layout_features = ["kern", "mark", "mkmk", "ccmp", "locl"]
    options.hinting = False
    options.notdef_outline = True
    options.name_IDs = [0, 1, 2, 3, 4, 5, 6, 13, 14]
    chosen = subset.Subsetter(options)
    chosen.populate(unicodes=[code for first, last in KEPT for code in range(first, last + 1)])
    chosen.subset(font)
    return font


def add(font: TTFont, code: int, contours, width: float) -> None:
    """A sign of straight lines: contours of (x, y), filled where they run clockwise."""
    pen = TTGlyphPen(None)
    for contour in contours:
        pen.moveTo(contour[0])
        for point in contour[1:]:
            pen.lineTo(point)
        pen.closePath()
    put(font, code, pen.glyph(), width)


def put(font: TTFont, code: int, glyph, width: float) -> None:
    name = f"uni{code:04X}"
    order = font.getGlyphOrder()
    if name not in order:
        font.setGlyphOrder([*order, name])
    glyph.recalcBounds(font["glyf"])
    glyph.coordinates.toInt()
    font["glyf"].glyphs[name] = glyph
    font["hmtx"][name] = (round(width), round(getattr(glyph, "xMin", 0) or 0))
    for table in font["cmap"].tables:
        if table.isUnicode():
            table.cmap[code] = name


def copied(font: TTFont, character: str, *transforms: Transform):
    """The outline of a letter, laid down once for each transform."""
    glyphs = font.getGlyphSet()
    name = font.getBestCmap()[ord(character)]
    pen = TTGlyphPen(glyphs)
    for transform in transforms:
        glyphs[name].draw(TransformPen(pen, transform))
    return pen.glyph(), font["hmtx"][name][0]


def ring(x: float, y: float, radius: float, inner: bool = False, start=0.0, end=math.tau):
    """A circle, or a part of one, as a polygon fine enough for any size of type."""
    count = max(int(64 * (end - start) / math.tau), 8)
    angles = [start + (end - start) * i / count for i in range(count + (end - start < math.tau))]
    points = [(x + radius * math.cos(a), y + radius * math.sin(a)) for a in angles]
    return points if inner else points[::-1]


def bent(start, corner, end, thick: float):
    """A line with one corner, as the outline of its stroke."""
    sides = []
    for side in (thick / 2, -thick / 2):
        (ux, uy), (vx, vy) = unit(start, corner), unit(corner, end)
        # where the two parallels at this side meet: the corner along the bisector of the normals
        share = side / (1.0 + ux * vx + uy * vy)
        meet = (corner[0] - share * (uy + vy), corner[1] + share * (ux + vx))
        sides.append(
            [(start[0] - side * uy, start[1] + side * ux), meet,
             (end[0] - side * vy, end[1] + side * vx)]
        )  # fmt: skip
    return sides[0] + sides[1][::-1]


def unit(start, end) -> tuple[float, float]:
    long = math.hypot(end[0] - start[0], end[1] - start[1])
    return (end[0] - start[0]) / long, (end[1] - start[1]) / long


def triangle(x: float, y: float, half: float, up: float, inner: bool = False):
    """An equilateral triangle about its middle height, pointing up (1) or down (−1)."""
    tall = half * math.sqrt(3.0)
    points = [(x - half, y - up * tall / 2), (x, y + up * tall / 2), (x + half, y - up * tall / 2)]
    clockwise = up > 0
    return points if clockwise != inner else points[::-1]


def add_signs(font: TTFont, stroke: float) -> None:
    """The signs of states, verdicts and marks, on the height of the figures."""
    middle, wide = 349.0, 700.0
    x = wide / 2
    for code, up in ((0x25B2, 1.0), (0x25BC, -1.0)):
        add(font, code, [triangle(x, middle, 330, up)], wide)
    for code, up in ((0x25B3, 1.0), (0x25BD, -1.0)):
        shift = up * stroke * 0.28  # the same stroke on all three sides
        inside = triangle(x, middle - shift, 330 - 1.75 * stroke, up, inner=True)
        add(font, code, [triangle(x, middle, 330, up), inside], wide)
    add(font, 0x25B8, [[(90, 130), (90, 570), (470, 350)]], 500)
    outer, hole = 300.0, 300.0 - stroke
    add(font, 0x25CB, [ring(x, middle, outer), ring(x, middle, hole, inner=True)], wide)
    add(font, 0x25CF, [ring(x, middle, outer)], wide)
    half = ring(x, middle, outer, start=math.pi / 2, end=3 * math.pi / 2)
    right = [
        *ring(x, middle, outer, start=-math.pi / 2, end=math.pi / 2),
        *ring(x, middle, hole, inner=True, start=-math.pi / 2, end=math.pi / 2),
    ]
    add(font, 0x25D0, [half, right], wide)
    reach = 330.0
    inner = reach - 1.42 * stroke
    diamond = [(x, middle + reach), (x + reach, middle), (x, middle - reach), (x - reach, middle)]
    hollow = [(x, middle + inner), (x - inner, middle), (x, middle - inner), (x + inner, middle)]
    add(font, 0x25C7, [diamond, hollow], wide)
    bold = 1.5 * stroke  # of check and cross, which stand for a verdict
    add(font, 0x2713, [bent((110, 345), (275, 130), (600, 610), bold)], wide)
    arm, h = 285.0, bold * 0.7  # a cross of one piece
    cross = [(0, h), (arm - h, arm), (arm, arm - h), (h, 0), (arm, h - arm), (arm - h, -arm),
             (0, -h), (h - arm, -arm), (-arm, h - arm), (-h, 0), (-arm, arm - h),
             (h - arm, arm)]  # fmt: skip
    add(font, 0x2717, [[(x + a, middle + b) for a, b in cross]], wide)
    body = [(90, 90), (130, 270), (470, 640), (600, 520), (260, 150)]  # a pencil
    core = [(180, 160), (240, 190), (520, 510), (468, 558), (190, 250)]
    add(font, 0x270E, [body, core], wide)
    for code, near, far in ((0x27E8, 240.0, 90.0), (0x27E9, 90.0, 240.0)):
        s = stroke if near > far else -stroke
        points = [(near, 780), (far, middle), (near, -82), (near + s, -82), (far + s, middle),
                  (near + s, 780)]  # fmt: skip
        add(font, code, [points if near < far else points[::-1]], 330)
    turned, width = copied(font, "±", Transform(-1, 0, 0, -1, width_of(font, "±"), 2 * middle - 60))
    put(font, 0x2213, turned, width)
    raised, width = copied(font, "−", Transform(0.62, 0, 0, 0.62, 0, 330))
    put(font, 0x207B, raised, width * 0.62)
    for code in (0x2060, 0xFEFF):
        put(font, code, TTGlyphPen(None).glyph(), 0)


def width_of(font: TTFont, character: str) -> float:
    return float(font["hmtx"][font.getBestCmap()[ord(character)]][0])


def name(font: TTFont, style: str, weight: int) -> None:
    """Another name, and how programs find it."""
    table = font["name"]
    owner = 'Copyright 2017 IBM Corp. with Reserved Font Name "Plex". Changed.'
    texts = {
        0: owner, 1: FAMILY, 2: style, 3: f"{FAMILY} {style} 1", 4: f"{FAMILY} {style}",
        5: "Version 1.000", 6: f"{FAMILY.replace(' ', '')}-{style}",
        13: "SIL Open Font License, Version 1.1", 14: "https://openfontlicense.org",
    }  # fmt: skip
    table.names = []
    for which, text in texts.items():
        table.setName(text, which, 3, 1, 0x409)
    bold, italic = style == "Bold", style == "Italic"
    os2, head, hhea = font["OS/2"], font["head"], font["hhea"]
    os2.usWeightClass, os2.usWidthClass = weight, 5
    os2.fsSelection = 0x80 | (0x20 if bold else 0x01 if italic else 0x40)
    head.macStyle = (1 if bold else 0) | (2 if italic else 0)
    em = head.unitsPerEm
    hhea.ascent = os2.sTypoAscender = os2.usWinAscent = round(ASCENT * em)
    hhea.descent = os2.sTypoDescender = -round(DESCENT * em)
    os2.usWinDescent = round(DESCENT * em)
    hhea.lineGap = os2.sTypoLineGap = 0
    for tag in ("STAT", "DSIG", "meta"):
        if tag in font:
            del font[tag]


def main(sources: list[str]) -> None:
    for style, (source, weight, answers) in CUTS.items():
        font = cut(sources[source], weight)
        add_signs(font, 62.0 if style != "Bold" else 92.0)
        name(font, style, answers)
        path = OUT / f"{FAMILY.replace(' ', '')}-{style}.ttf"
        font.save(path)
        print(path, path.stat().st_size)


if __name__ == "__main__":
    main(sys.argv[1:])
