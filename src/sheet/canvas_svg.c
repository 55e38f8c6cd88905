/* canvas_svg.c - a page of a canvas as SVG, with real text */
#include "canvas_out.h"

#include "rodbook/text.h"

#include <math.h>
#include <string.h>

const unsigned char canvas_ink_rgb[CANVAS_INKS][3] = {
    [CANVAS_BLACK] = { 0x14, 0x14, 0x14 },
    [CANVAS_GREY] = { 0x59, 0x59, 0x59 },
    [CANVAS_PALE] = { 0xec, 0xec, 0xe8 },
    [CANVAS_UP] = { 0x00, 0x3a, 0x6b },
    [CANVAS_DOWN] = { 0x8a, 0x3c, 0x00 },
    [CANVAS_ALERT] = { 0x9c, 0x00, 0x2e },
    [CANVAS_WHITE] = { 0xff, 0xff, 0xff },
};

const double canvas_dash_points[CANVAS_DASHES][5] = {
    [CANVAS_SOLID] = { 0 },
    [CANVAS_DASHED] = { 6, 3 },
    [CANVAS_DOTTED] = { 1, 2.5 },
    [CANVAS_CHAIN] = { 9, 2.5, 1.5, 2.5 },
};

/* Hundredths of a point, without zeros at the end, whatever the locale. */
static void
put_points(double points, FILE *out)
{
    long long hundredths = llround(points * 100);
    long long whole = hundredths / 100, part = hundredths % 100;
    if (hundredths < 0)
        fputc('-', out);
    fprintf(out, "%lld", whole < 0 ? -whole : whole);
    part = part < 0 ? -part : part;
    if (part % 10 != 0)
        fprintf(out, ".%02lld", part);
    else if (part != 0)
        fprintf(out, ".%lld", part / 10);
}

static void
put_number(const char *name, double points, FILE *out)
{
    fprintf(out, " %s=\"", name);
    put_points(points, out);
    fputc('"', out);
}

void
canvas_escape(const char *text, FILE *out)
{
    uint32_t c;
    for (size_t n; *text; text += n) {
        n = text_next(text, &c);
        switch (c) {
        case '&': fputs("&amp;", out); break;
        case '<': fputs("&lt;", out); break;
        case '>': fputs("&gt;", out); break;
        case '"': fputs("&quot;", out); break;
        case '\'': fputs("&#39;", out); break;
        default:
            if (c < 0x20 || c == 0x7f || (c >= 0x80 && c < 0xa0) || c == 0xfffd || c == 0xfffe || c == 0xffff)
                fputs("\xef\xbf\xbd", out);
            else
                fwrite(text, 1, n, out);
        }
    }
}

static void
put_ink(const char *name, enum canvas_ink ink, FILE *out)
{
    const unsigned char *rgb = canvas_ink_rgb[ink];
    fprintf(out, " %s=\"#%02x%02x%02x\"", name, rgb[0], rgb[1], rgb[2]);
}

static void
put_pen(const struct canvas_mark *m, FILE *out)
{
    if (m->filled)
        put_ink("fill", m->fill, out);
    else
        fputs(" fill=\"none\"", out);
    if (!(m->pen.width > 0))
        return;
    put_ink("stroke", m->pen.ink, out);
    put_number("stroke-width", m->pen.width, out);
    const double *dash = canvas_dash_points[m->pen.dash];
    if (dash[0] > 0)
        fputs(" stroke-dasharray=\"", out);
    for (size_t i = 0; dash[i] > 0; i++) {
        if (i > 0)
            fputc(' ', out);
        put_points(dash[i], out);
    }
    if (dash[0] > 0)
        fputc('"', out);
}

static void
put_path(const struct canvas *c, const struct canvas_mark *m, FILE *out)
{
    fputs("<path d=\"", out);
    for (size_t i = 0; i < m->count; i++) {
        const struct canvas_place *p = &c->place[m->first + i];
        fputc(i == 0 ? 'M' : 'L', out);
        put_points(p->x, out);
        fputc(' ', out);
        put_points(p->y, out);
    }
    fputs(m->closed ? "Z\"" : "\"", out);
    put_pen(m, out);
    fputs("/>\n", out);
}

static void
put_circle(const struct canvas_mark *m, FILE *out)
{
    fputs("<circle", out);
    put_number("cx", m->at.x, out);
    put_number("cy", m->at.y, out);
    put_number("r", m->size, out);
    put_pen(m, out);
    fputs("/>\n", out);
}

static void
put_text(const struct canvas *c, const struct canvas_mark *m, FILE *out)
{
    static const char *const anchors[] = { NULL, "middle", "end" };
    const char *text = canvas_words(c, m->text);
    if (!text[0])
        return;
    fputs("<text", out);
    put_number("x", m->at.x, out);
    put_number("y", m->at.y, out);
    put_number("font-size", m->size, out);
    if (m->width > 0) {
        put_number("textLength", m->width, out);
        fputs(" lengthAdjust=\"spacingAndGlyphs\"", out);
    }
    if (anchors[m->anchor])
        fprintf(out, " text-anchor=\"%s\"", anchors[m->anchor]);
    if (m->bold)
        fputs(" font-weight=\"bold\"", out);
    put_ink("fill", m->fill, out);
    if (m->turned != 0) {
        fputs(" transform=\"rotate(", out);
        put_points(m->turned, out);
        fputc(' ', out);
        put_points(m->at.x, out);
        fputc(' ', out);
        put_points(m->at.y, out);
        fputs(")\"", out);
    }
    fputc('>', out);
    canvas_escape(text, out);
    fputs("</text>\n", out);
}

static void
put_group(const struct canvas *c, const struct canvas_mark *m, FILE *out)
{
    fputs("<g role=\"group\">\n<title>", out);
    canvas_escape(canvas_words(c, m->text), out);
    fputs("</title>\n", out);
    if (m->more == CANVAS_NO_TEXT)
        return;
    fputs("<desc>", out);
    canvas_escape(canvas_words(c, m->more), out);
    fputs("</desc>\n", out);
}

static void
put_mark(const struct canvas *c, const struct canvas_mark *m, FILE *out)
{
    switch (m->kind) {
    case CANVAS_PATH: put_path(c, m, out); break;
    case CANVAS_CIRCLE: put_circle(m, out); break;
    case CANVAS_TEXT: put_text(c, m, out); break;
    case CANVAS_GROUP: put_group(c, m, out); break;
    case CANVAS_GROUP_END: fputs("</g>\n", out); break;
    }
}

static void
put_view(const struct canvas_page *p, FILE *out)
{
    fputs(" viewBox=\"0 0 ", out);
    put_points(p->width, out);
    fputc(' ', out);
    put_points(p->height, out);
    fputc('"', out);
}

static void
put_marks(const struct canvas *c, const struct canvas_page *p, FILE *out)
{
    for (size_t i = 0; i < p->marks; i++)
        put_mark(c, &c->mark[p->first + i], out);
}

void
canvas_svg(const struct canvas *c, size_t page, enum canvas_svg_use use, const char *id, FILE *out)
{
    const struct canvas_page *p = &c->page[page];
    if (use == CANVAS_SVG_FILE)
        fputs("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n", out);
    fputs("<svg xmlns=\"http://www.w3.org/2000/svg\"", out);
    if (use == CANVAS_SVG_FILE) {
        fputs(" width=\"", out);
        put_points(p->width, out);
        fputs("pt\" height=\"", out);
        put_points(p->height, out);
        fputs("pt\"", out);
    }
    put_view(p, out);
    fprintf(out, " role=\"%s\" aria-labelledby=\"%s-title\"", use == CANVAS_SVG_FILE ? "img" : "graphics-document", id);
    if (p->more != CANVAS_NO_TEXT)
        fprintf(out, " aria-describedby=\"%s-desc\"", id);
    fprintf(out, " font-family=\"'DejaVu Sans', Verdana, sans-serif\">\n<title id=\"%s-title\">", id);
    canvas_escape(canvas_words(c, p->title), out);
    fputs("</title>\n", out);
    if (p->more != CANVAS_NO_TEXT) {
        fprintf(out, "<desc id=\"%s-desc\">", id);
        canvas_escape(canvas_words(c, p->more), out);
        fputs("</desc>\n", out);
    }
    put_marks(c, p, out);
    fputs("</svg>\n", out);
}

void
canvas_svg_symbol(const struct canvas *c, size_t page, const char *id, FILE *out)
{
    fprintf(out, "<symbol id=\"%s\"", id);
    put_view(&c->page[page], out);
    fputs(">\n", out);
    put_marks(c, &c->page[page], out);
    fputs("</symbol>\n", out);
}
