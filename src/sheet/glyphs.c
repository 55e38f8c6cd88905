/* glyphs.c - how wide a text is set */
#include "canvas.h"

#include "rodbook/text.h"

#include <string.h>

#include "glyphs.h"

#define EM 2048.0
#define OTHER 0.65 /* em, of a letter that no table has: between the widths of Arabic and of Thai letters in fonts at hand */

static double
character_width(const char *p, size_t bytes, uint32_t c, bool bold)
{
    char one[8] = { 0 };
    for (size_t i = 0; i < sizeof glyph_ranges / sizeof glyph_ranges[0]; i++) {
        const struct glyph_range *r = &glyph_ranges[i];
        if (c >= r->first && c < r->end && r->plain[c - r->first] > 0)
            return (bold ? r->bold : r->plain)[c - r->first] / EM;
    }
    memcpy(one, p, bytes);
    size_t columns = text_width(one);
    return columns == 1 ? OTHER : columns > 1 ? 1.0 : 0.0;
}

double
canvas_text_width(const char *text, double size, bool bold)
{
    double width = 0;
    uint32_t c;
    for (size_t n; *text; text += n) {
        n = text_next(text, &c);
        width += character_width(text, n, c, bold);
    }
    return width * size;
}
