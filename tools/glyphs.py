"""Advance widths of DejaVu Sans and DejaVu Sans Bold, as src/sheet/glyphs.h has them.

usage: glyphs.py DejaVuSans.ttf DejaVuSans-Bold.ttf >src/sheet/glyphs.h

Tables read: head, hhea, hmtx and cmap subtable 4 (ISO/IEC 14496-22).
"""
import struct
import sys

RANGES = [(0x20, 0x530), (0x2000, 0x2070), (0x2150, 0x2200), (0x2212, 0x2213), (0x25A0, 0x2600)]


def widths(path):
    data = open(path, "rb").read()
    tables = {}
    for i in range(struct.unpack(">H", data[4:6])[0]):
        tag, _, at, size = struct.unpack(">4sIII", data[12 + 16 * i : 28 + 16 * i])
        tables[tag] = data[at : at + size]
    assert struct.unpack(">H", tables[b"head"][18:20])[0] == 2048
    metrics = struct.unpack(">H", tables[b"hhea"][34:36])[0]
    advance = [struct.unpack(">H", tables[b"hmtx"][4 * i : 4 * i + 2])[0] for i in range(metrics)]
    cmap = tables[b"cmap"]
    glyph_of = {}
    for i in range(struct.unpack(">H", cmap[2:4])[0]):
        at = struct.unpack(">I", cmap[8 + 8 * i : 12 + 8 * i])[0]
        if struct.unpack(">H", cmap[at : at + 2])[0] != 4:
            continue
        n = struct.unpack(">H", cmap[at + 6 : at + 8])[0] // 2
        part = lambda k: struct.unpack(f">{n}H", cmap[at + 14 + 2 * n * k + 2 * (k > 0) : at + 14 + 2 * n * (k + 1) + 2 * (k > 0)])
        end, start, delta, offset = part(0), part(1), part(2), part(3)
        base = at + 16 + 6 * n
        for k in range(n):
            for code in range(start[k], end[k] + 1):
                if offset[k] == 0:
                    glyph = code + delta[k] & 0xFFFF
                else:
                    spot = base + 2 * k + offset[k] + 2 * (code - start[k])
                    glyph = struct.unpack(">H", cmap[spot : spot + 2])[0]
                    glyph = glyph + delta[k] & 0xFFFF if glyph else 0
                if glyph:
                    glyph_of[code] = glyph
    return {code: advance[min(glyph, metrics - 1)] for code, glyph in glyph_of.items()}


plain, bold = widths(sys.argv[1]), widths(sys.argv[2])
print("/* glyphs.h - advance widths of DejaVu Sans 2.37, 2048 to the em; made by tools/glyphs.py. 0: it has none, or combines. */")
print("struct glyph_range {\n    uint32_t first, end;\n    const uint16_t *plain, *bold;\n};\n")
for first, end in RANGES:
    for name, table in (("plain", plain), ("bold", bold)):
        row = [table.get(code, 0) for code in range(first, end)]
        print(f"static const uint16_t {name}_{first:04x}[{end - first}] = {{")
        for i in range(0, len(row), 20):
            print("    " + " ".join(f"{w}," for w in row[i : i + 20]))
        print("};")
print("\nstatic const struct glyph_range glyph_ranges[] = {")
for first, end in RANGES:
    print(f"    {{ 0x{first:04x}, 0x{end:04x}, plain_{first:04x}, bold_{first:04x} }},")
print("};")
