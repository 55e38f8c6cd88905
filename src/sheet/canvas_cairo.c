/* canvas_cairo.c - a canvas as PDF and PNG, by pangocairo */
#include "canvas_out.h"

#include "palette.h"

#include <dlfcn.h>
#include <math.h>
#include <pango/pangocairo.h>
#include <cairo-pdf.h>
#include <png.h>
#include <stdlib.h>

/* ---- the libraries, loaded when they are first asked for ---- */

/* Every function that is called, as its own header declares it. */
#define FUNCTIONS(_)                                                                                                          \
    _(cairo_create) _(cairo_destroy) _(cairo_status) _(cairo_surface_destroy) _(cairo_surface_status) _(cairo_surface_finish) \
    _(cairo_pdf_surface_create_for_stream) _(cairo_pdf_surface_set_size) _(cairo_pdf_surface_set_metadata)                    \
    _(cairo_image_surface_create) _(cairo_image_surface_get_data) _(cairo_surface_flush) _(cairo_show_page) _(cairo_scale) _(cairo_save)        \
    _(cairo_restore) _(cairo_translate) _(cairo_rotate) _(cairo_set_source_rgb) _(cairo_paint) _(cairo_new_path)              \
    _(cairo_move_to) _(cairo_line_to) _(cairo_close_path) _(cairo_arc) _(cairo_fill_preserve) _(cairo_stroke_preserve)        \
    _(cairo_set_line_width) _(cairo_set_dash) _(cairo_select_font_face) _(cairo_set_font_size) _(cairo_show_text) _(cairo_text_extents) \
    _(cairo_font_options_create) _(cairo_font_options_destroy) _(cairo_font_options_set_hint_metrics) _(cairo_set_font_options) _(pango_cairo_create_layout) _(pango_cairo_show_layout_line)                    \
    _(pango_layout_set_font_description) _(pango_layout_set_text) _(pango_layout_set_single_paragraph_mode) _(pango_layout_set_auto_dir)                   \
    _(pango_layout_get_line_readonly) _(pango_layout_get_size) _(pango_font_description_new)                                  \
    _(pango_font_description_free) _(pango_font_description_set_family_static) _(pango_font_description_set_weight)           \
    _(pango_font_description_set_absolute_size) _(g_object_unref)

#define DECLARE(name) __typeof__(name) *(name);
static struct {
    bool ready, packs;
    FUNCTIONS(DECLARE)
    DECLARE(png_image_write_to_stdio)
} use;

static const char library[] = "libpangocairo-1.0.so.0"; /* it brings cairo, pango and glib with it */
static const char packer[] = "libpng16.so.16";          /* cairo brings it too, but its own way of packing takes five times as long */

/* The libraries stay loaded for as long as the program runs. */
#define FIND(name)                                                      \
    if (!(*(void **)(void *)&use.name = dlsym(handle, #name)))          \
        return false;

static bool
load(void)
{
    if (use.ready)
        return true;
    void *handle = dlopen(library, RTLD_NOW | RTLD_GLOBAL);
    if (!handle)
        return false;
    FUNCTIONS(FIND)
    use.ready = true;
    return true;
}

static bool
load_packer(void)
{
    if (use.packs)
        return true;
    void *handle = dlopen(packer, RTLD_NOW | RTLD_GLOBAL);
    if (!handle)
        return false;
    FIND(png_image_write_to_stdio)
    use.packs = true;
    return true;
}

/* ---- marks ---- */

struct brush {
    cairo_t *cr;
    PangoLayout *layout;
    PangoFontDescription *font[2]; /* plain, bold */
    bool plain[2]; /* plain, bold: ASCII comes out as wide as it is laid out, and needs no shaping */
    double size;   /* in which ASCII is set now; 0 at first */
    bool bold;
};

static void
dip(const struct brush *b, enum canvas_ink ink)
{
    const unsigned char *rgb = canvas_ink_rgb[ink];
    use.cairo_set_source_rgb(b->cr, rgb[0] / 255.0, rgb[1] / 255.0, rgb[2] / 255.0);
}

static void
ink_path(const struct brush *b, const struct canvas_mark *m)
{
    if (m->filled) {
        dip(b, m->fill);
        use.cairo_fill_preserve(b->cr);
    }
    if (m->pen.width > 0) {
        const double *dash = canvas_dash_points[m->pen.dash];
        int n = 0;
        while (dash[n] > 0)
            n++;
        dip(b, m->pen.ink);
        use.cairo_set_line_width(b->cr, m->pen.width);
        use.cairo_set_dash(b->cr, dash, n, 0);
        use.cairo_stroke_preserve(b->cr);
        use.cairo_set_dash(b->cr, dash, 0, 0);
    }
    use.cairo_new_path(b->cr); /* the text library strokes boxes for letters that no font has: nothing else may lie there then */
}

static void
draw_path(const struct brush *b, const struct canvas *c, const struct canvas_mark *m)
{
    use.cairo_new_path(b->cr);
    for (size_t i = 0; i < m->count; i++) {
        const struct canvas_place *p = &c->place[m->first + i];
        if (i == 0)
            use.cairo_move_to(b->cr, p->x, p->y);
        else
            use.cairo_line_to(b->cr, p->x, p->y);
    }
    if (m->closed)
        use.cairo_close_path(b->cr);
    ink_path(b, m);
}

static void
draw_circle(const struct brush *b, const struct canvas_mark *m)
{
    use.cairo_new_path(b->cr);
    use.cairo_arc(b->cr, m->at.x, m->at.y, m->size, 0, 2 * M_PI);
    ink_path(b, m);
}

static void
set_face(struct brush *b, double size, bool bold)
{
    if (b->size == size && b->bold == bold)
        return;
    use.cairo_select_font_face(b->cr, "DejaVu Sans", CAIRO_FONT_SLANT_NORMAL, bold ? CAIRO_FONT_WEIGHT_BOLD : CAIRO_FONT_WEIGHT_NORMAL);
    use.cairo_set_font_size(b->cr, size);
    b->size = size;
    b->bold = bold;
}

static bool
is_ascii(const char *text)
{
    while (*text && (unsigned char)*text < 0x80)
        text++;
    return *text == '\0';
}

/* The place where a text begins that is so wide by itself, and is to be fitted; until cairo_restore(). */
static void
stand_at(const struct brush *b, const struct canvas_mark *m, double natural, double fit)
{
    static const double shares[] = { 0, 0.5, 1 }; /* of its width that stands before its place */
    use.cairo_save(b->cr);
    use.cairo_translate(b->cr, m->at.x, m->at.y);
    if (m->turned < 0 || m->turned > 0)
        use.cairo_rotate(b->cr, m->turned * M_PI / 180);
    use.cairo_translate(b->cr, -shares[m->anchor] * natural * fit, 0);
    if (fit < 1 || fit > 1)
        use.cairo_scale(b->cr, fit, 1);
    use.cairo_move_to(b->cr, 0, 0);
    dip(b, m->fill);
}

/* Nearly all texts: letter behind letter, in a quarter of the time that shaping takes. */
static void
draw_ascii(struct brush *b, const struct canvas_mark *m, const char *text)
{
    double natural = canvas_text_width(text, m->size, m->bold), fit = natural > 0 && m->width > 0 ? m->width / natural : 1;
    set_face(b, m->size, m->bold);
    stand_at(b, m, natural, fit);
    use.cairo_show_text(b->cr, text);
    use.cairo_restore(b->cr);
}

/* Whether the font that is there has the widths that texts are laid out with. */
static bool
is_laid_out_so(struct brush *b, bool bold)
{
    static const char probe[] = "Grade rod 4' 7-3/8\" from 16.2, up 0.135 ft; misclosure WMiljQ";
    cairo_text_extents_t met;
    set_face(b, 100, bold);
    use.cairo_text_extents(b->cr, probe, &met);
    return fabs(met.x_advance / canvas_text_width(probe, 100, bold) - 1) < 0.005;
}

/* A text that is so nearly as wide as it was laid out is set as it is: each other scale is another font to the library. */
#define AS_IT_IS 0.02

static void
draw_text(struct brush *b, const struct canvas *c, const struct canvas_mark *m)
{
    PangoFontDescription *font = b->font[m->bold];
    int width, height;
    if (!canvas_words(c, m->text)[0])
        return;
    if (b->plain[m->bold] && is_ascii(canvas_words(c, m->text))) {
        draw_ascii(b, m, canvas_words(c, m->text));
        return;
    }
    use.pango_font_description_set_absolute_size(font, m->size * PANGO_SCALE);
    use.pango_layout_set_font_description(b->layout, font);
    use.pango_layout_set_text(b->layout, canvas_words(c, m->text), -1);
    use.pango_layout_get_size(b->layout, &width, &height);
    double natural = (double)width / PANGO_SCALE;
    double fit = natural > 0 && m->width > 0 ? m->width / natural : 1;
    stand_at(b, m, natural, fabs(fit - 1) < AS_IT_IS ? 1 : fit);
    use.pango_cairo_show_layout_line(b->cr, use.pango_layout_get_line_readonly(b->layout, 0));
    use.cairo_restore(b->cr);
}

static void
draw_page(struct brush *b, const struct canvas *c, const struct canvas_page *page)
{
    for (size_t i = 0; i < page->marks; i++) {
        const struct canvas_mark *m = &c->mark[page->first + i];
        if (m->kind == CANVAS_PATH)
            draw_path(b, c, m);
        else if (m->kind == CANVAS_CIRCLE)
            draw_circle(b, m);
        else if (m->kind == CANVAS_TEXT)
            draw_text(b, c, m);
    }
}

static void
brush_open(struct brush *b, cairo_surface_t *surface)
{
    *b = (struct brush){ .cr = use.cairo_create(surface) };
    cairo_font_options_t *options = use.cairo_font_options_create();
    use.cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF); /* letters as wide in pixels as on paper */
    use.cairo_set_font_options(b->cr, options);
    use.cairo_font_options_destroy(options);
    b->layout = use.pango_cairo_create_layout(b->cr);
    use.pango_layout_set_single_paragraph_mode(b->layout, TRUE);
    use.pango_layout_set_auto_dir(b->layout, FALSE); /* a page reads from the left, whatever a name is written in */
    for (int bold = 0; bold < 2; bold++) {
        b->font[bold] = use.pango_font_description_new();
        use.pango_font_description_set_family_static(b->font[bold], "DejaVu Sans, sans-serif");
        use.pango_font_description_set_weight(b->font[bold], bold ? PANGO_WEIGHT_BOLD : PANGO_WEIGHT_NORMAL);
        b->plain[bold] = is_laid_out_so(b, bold);
    }
}

/* Whether all that was drawn was drawn. */
static bool
brush_close(struct brush *b)
{
    bool good = use.cairo_status(b->cr) == CAIRO_STATUS_SUCCESS;
    use.pango_font_description_free(b->font[0]);
    use.pango_font_description_free(b->font[1]);
    use.g_object_unref(b->layout);
    use.cairo_destroy(b->cr);
    return good;
}

/* ---- documents ---- */

static cairo_status_t
write_bytes(void *out, const unsigned char *bytes, unsigned n)
{
    return fwrite(bytes, 1, n, out) == n ? CAIRO_STATUS_SUCCESS : CAIRO_STATUS_WRITE_ERROR;
}

static enum canvas_status
ready(const struct canvas *c, const char **missing)
{
    if (c->no_memory)
        return CANVAS_EMEMORY;
    *missing = library;
    return load() ? CANVAS_OK : CANVAS_ENOLIBRARY;
}

static void
state_facts(cairo_surface_t *surface, const struct canvas_facts *facts)
{
    const char *day = facts->day ? facts->day : "1970-01-01T00:00:00Z";
    use.cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_TITLE, facts->title);
    use.cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_SUBJECT, facts->subject);
    use.cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_CREATOR, "rodbook " RODBOOK_VERSION);
    use.cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_CREATE_DATE, day);
    use.cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_MOD_DATE, day);
}

enum canvas_status
canvas_pdf(const struct canvas *c, const struct canvas_facts *facts, FILE *out, const char **missing)
{
    enum canvas_status status = ready(c, missing);
    struct brush b;
    if (status != CANVAS_OK)
        return status;
    cairo_surface_t *surface = use.cairo_pdf_surface_create_for_stream(write_bytes, out, c->page[0].width, c->page[0].height);
    state_facts(surface, facts);
    brush_open(&b, surface);
    for (size_t i = 0; i < c->pages; i++) {
        use.cairo_pdf_surface_set_size(surface, c->page[i].width, c->page[i].height);
        draw_page(&b, c, &c->page[i]);
        use.cairo_show_page(b.cr);
    }
    bool good = brush_close(&b);
    use.cairo_surface_finish(surface);
    good = good && use.cairo_surface_status(surface) == CAIRO_STATUS_SUCCESS;
    use.cairo_surface_destroy(surface);
    return good ? CANVAS_OK : CANVAS_EDRAW;
}

/* A drawing in a few inks takes a byte a pixel, and little packing. */
static enum canvas_status
write_png(const uint32_t *pixel, unsigned width, unsigned height, FILE *out)
{
    size_t n = (size_t)width * height;
    unsigned char *number = malloc(n), colours[PALETTE_MOST][3];
    uint32_t ink[CANVAS_INKS];
    struct palette p;
    enum canvas_status status = CANVAS_EMEMORY;
    for (size_t i = 0; i < CANVAS_INKS; i++)
        ink[i] = (uint32_t)(canvas_ink_rgb[i][0] << 16 | canvas_ink_rgb[i][1] << 8 | canvas_ink_rgb[i][2]);
    if (!number || palette_sort(pixel, n, ink, CANVAS_INKS, &p, number) != 0)
        goto free_number;
    for (size_t i = 0; i < p.colours; i++)
        for (int k = 0; k < 3; k++)
            colours[i][k] = (unsigned char)(p.colour[i] >> (16 - 8 * k));
    png_image image = { .version = PNG_IMAGE_VERSION, .width = width, .height = height, .format = PNG_FORMAT_RGB_COLORMAP,
        .flags = PNG_IMAGE_FLAG_FAST, .colormap_entries = (png_uint_32)p.colours };
    status = use.png_image_write_to_stdio(&image, out, 0, number, 0, colours) ? CANVAS_OK : CANVAS_EDRAW;
free_number:
    free(number);
    return status;
}

enum canvas_status
canvas_png(const struct canvas *c, size_t page, double dots, FILE *out, const char **missing)
{
    enum canvas_status status = ready(c, missing);
    const struct canvas_page *p = &c->page[page];
    double scale = dots / 72;
    int width = (int)ceil(p->width * scale), height = (int)ceil(p->height * scale);
    struct brush b;
    if (status != CANVAS_OK)
        return status;
    *missing = packer;
    if (!load_packer())
        return CANVAS_ENOLIBRARY;
    cairo_surface_t *surface = use.cairo_image_surface_create(CAIRO_FORMAT_RGB24, width, height);
    brush_open(&b, surface);
    dip(&b, CANVAS_WHITE);
    use.cairo_paint(b.cr);
    use.cairo_scale(b.cr, scale, scale);
    draw_page(&b, c, p);
    status = brush_close(&b) ? CANVAS_OK : CANVAS_EDRAW;
    use.cairo_surface_flush(surface);
    if (status == CANVAS_OK) /* rows of 32-bit pixels lie one behind the other */
        status = write_png((const uint32_t *)(const void *)use.cairo_image_surface_get_data(surface), (unsigned)width, (unsigned)height, out);
    use.cairo_surface_destroy(surface);
    return status;
}
