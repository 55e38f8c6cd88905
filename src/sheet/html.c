/* html.c - a document as one HTML page: no script, nothing fetched, real text */
#include "html.h"

#include "canvas_out.h"
#include "figures.h"
#include "texts.h"

#include "rodbook/digest.h"
#include "rodbook/text.h"

#include <inttypes.h>
#include <sodium/utils.h>
#include <stdlib.h>
#include <string.h>

/* ---- sections ---- */

struct section {
    enum sheet_figure bit;
    const char *id, *title;                                  /* NULL: text and tables, and texts.h has them */
    int (*put)(const struct sheet_document *doc, FILE *out); /* NULL: text and tables, or drawn */
    const char *description;                                 /* of a drawing */
};

static const struct section sections[] = {
    { SHEET_FIGURE_STAKES, "stakes", "Stake sheet", html_stakes, NULL },
    { SHEET_FIGURE_PLAN, "plan", "Plan", NULL, "The job from above, to scale: every mark at its place, with its move. The stake sheet has the same moves in a table." },
    { SHEET_FIGURE_PROFILE, "profile", "Profile", NULL,
        "Elevations along a line: ground, marks and grade, with heights exaggerated as stated. The stake sheet has the same elevations in a table." },
    { SHEET_FIGURE_SITE, NULL, NULL, NULL, NULL },
    { SHEET_FIGURE_SQUARE, NULL, NULL, NULL, NULL },
    { SHEET_FIGURE_PAD, NULL, NULL, NULL, NULL },
    { SHEET_FIGURE_POSTS, NULL, NULL, NULL, NULL },
    { SHEET_FIGURE_CONCRETE, NULL, NULL, NULL, NULL },
    { SHEET_FIGURE_RUN, NULL, NULL, NULL, NULL },
    { SHEET_FIGURE_BOOK, NULL, NULL, NULL, NULL },
    { SHEET_FIGURE_RECORD, NULL, NULL, NULL, NULL },
    { SHEET_FIGURE_LOOPS, "loops", "Loops", NULL,
        "Benchmarks and turning points of each line, its misclosure set-up by set-up, and what does not fit. The field book has every reading in a table." },
};

#define SECTIONS (sizeof sections / sizeof sections[0])

static const char *
id_of(const struct section *s)
{
    return s->id ? s->id : text_sheet_of(s->bit)->id;
}

static const char *
title_of(const struct section *s)
{
    return s->title ? s->title : text_sheet_of(s->bit)->title;
}

static int
put_text(const struct section *s, const struct sheet_document *doc, FILE *out)
{
    struct capture c;
    int rc = text_sheet_take(text_sheet_of(s->bit), doc, &c);
    if (rc == 0 && c.blocks > 0)
        html_flow(&c, 1, out); /* the first is the title, which the page has */
    capture_release(&c);
    return rc;
}

#define LEFT_EDGE 6.0 /* points: what stands to the right of it is a part of the drawing, however large */

static bool
is_heading(const struct canvas *c, const struct canvas_mark *m)
{
    return m->kind == CANVAS_TEXT && m->bold && m->anchor == CANVAS_START && m->size >= PAGE_HEADING && m->at.x < LEFT_EDGE && canvas_words(c, m->text)[0];
}

/* "(plan, 1 of 2)", on one line */
static void
put_place(const struct canvas *c, size_t page, const struct section *s, FILE *out)
{
    const char *title = title_of(s);
    fprintf(out, " <i>(%c%s", title[0] - 'A' + 'a', title + 1);
    if (c->pages > 1)
        fprintf(out, ", %zu of %zu", page + 1, c->pages);
    fputs(")</i>", out);
}

/* What a page of a drawing is headed by, one thing behind the other. */
static void
put_drawing_title(const struct canvas *c, size_t page, const struct section *s, FILE *out)
{
    const struct canvas_page *p = &c->page[page];
    size_t headings = 0;
    for (size_t i = 0; i < p->marks; i++) {
        const struct canvas_mark *m = &c->mark[p->first + i];
        if (!is_heading(c, m))
            continue;
        fputs(headings++ > 0 ? "; " : "", out);
        html_words(canvas_words(c, m->text), out);
    }
    fputs(headings > 0 ? "" : "drawing", out);
    put_place(c, page, s, out);
}

/* As wide as the screen at first, so that it is seen whole; with the box ticked so large that all of it can be read. */
static void
put_page(const struct canvas *c, size_t page, const struct section *s, FILE *out)
{
    char id[48];
    snprintf(id, sizeof id, "%s-%zu", id_of(s), page + 1);
    fprintf(out, "<figure id=\"%s\">\n<figcaption id=\"%s-caption\">", id, id);
    put_drawing_title(c, page, s, out);
    fputs("</figcaption>\n<label class=\"full\"><input type=\"checkbox\" autocomplete=\"off\"/> at full size<span class=\"sr\">: ", out);
    put_drawing_title(c, page, s, out);
    fprintf(out, "</span></label>\n<div class=\"drawing\" role=\"group\" tabindex=\"0\" aria-labelledby=\"%s-caption\">\n", id);
    canvas_svg(c, page, CANVAS_SVG_INLINE, id, out);
    fputs("</div>\n</figure>\n", out);
}

static void
put_drawings(const struct canvas *c, const struct section *s, FILE *out)
{
    fputs(c->pages > 1 ? "<ul class=\"parts drawings\">\n" : "", out);
    for (size_t i = 0; c->pages > 1 && i < c->pages; i++) {
        fprintf(out, "<li><a href=\"#%s-%zu\">", id_of(s), i + 1);
        put_drawing_title(c, i, s, out);
        fputs("</a></li>\n", out);
    }
    fputs(c->pages > 1 ? "</ul>\n" : "", out);
    for (size_t i = 0; i < c->pages; i++)
        put_page(c, i, s, out);
}

#define BELOW 6.0 /* points that stay free below a drawing */

/* The pages that one figure turns, without what the page says anyway. */
static int
put_drawing(const struct sheet_document *doc, const struct section *s, FILE *out)
{
    struct sheet_document alone = *doc;
    struct canvas c = { 0 };
    alone.figures = s->bit;
    alone.bare = true;
    int rc = figures_draw(&alone, &c);
    for (size_t i = 0; rc == 0 && i < c.pages; i++) {
        canvas_describe(&c, i, s->description);
        canvas_crop(&c, i, BELOW);
    }
    rc = c.no_memory ? -1 : rc;
    if (rc == 0)
        put_drawings(&c, s, out);
    canvas_release(&c);
    return rc;
}

/* What stands in each section; NULL where there is nothing. */
struct body {
    char *text[SECTIONS];
    size_t size[SECTIONS];
    size_t filled;
};

static int
fill_section(struct body *b, size_t i, const struct sheet_document *doc)
{
    const struct section *s = &sections[i];
    FILE *out = open_memstream(&b->text[i], &b->size[i]);
    if (!out)
        return -1;
    int rc = s->put ? s->put(doc, out) : s->title ? put_drawing(doc, s, out) : put_text(s, doc, out);
    bool whole = !ferror(out);
    if (fclose(out) != 0 || !whole || rc != 0)
        return -1;
    b->filled += b->size[i] > 0;
    return 0;
}

static int
fill(struct body *b, const struct sheet_document *doc)
{
    for (size_t i = 0; i < SECTIONS; i++)
        if ((doc->figures & sections[i].bit) && fill_section(b, i, doc) != 0)
            return -1;
    return 0;
}

static void
body_release(struct body *b)
{
    for (size_t i = 0; i < SECTIONS; i++)
        free(b->text[i]);
}

/* ---- style ---- */

/* A text as a string of a style sheet: all but plain letters and digits as their numbers, so that nothing of it acts. */
static void
put_style_string(const char *text, FILE *out)
{
    uint32_t c;
    fputc('\'', out);
    for (; *text; text += text_next(text, &c)) {
        (void)text_next(text, &c);
        bool plain = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == ' ';
        if (plain)
            fputc((int)c, out);
        else
            fprintf(out, "\\%06" PRIx32, c); /* six digits, so that none behind them is taken for another */
    }
    fputc('\'', out);
}

/* Drawings at full size have type of 12 px; a screen that is narrower has the box that asks for it, and fades a drawing out at
 * the edges of its frame, lest a figure that is cut in two be taken for another. */
static void
put_drawing_style(bool landscape, FILE *out)
{
    const char *full = landscape ? "80rem" : "54rem", *screen = landscape ? "84em" : "58em";
    fprintf(out, "@media screen and (max-width:%s){.full{display:inline-flex}\n.full:has(:checked)+.drawing svg{width:%s}\n"
        ".full:has(:checked)+.drawing{overflow-x:auto;padding-inline:2rem;mask-image:linear-gradient(to right,transparent,#000 2rem,"
        "#000 calc(100%% - 2rem),transparent)}}\n", screen, full);
}

/* Drawings print in black: what goes up and what goes down differ in shape and word as well. */
static void
put_ink_style(FILE *out)
{
    static const enum canvas_ink colours[] = { CANVAS_UP, CANVAS_DOWN, CANVAS_ALERT };
    fputs("@media print{", out);
    for (size_t i = 0; i < sizeof colours / sizeof colours[0]; i++) {
        const unsigned char *rgb = canvas_ink_rgb[colours[i]];
        fprintf(out, ".drawing [fill='#%02x%02x%02x']{fill:#000}.drawing [stroke='#%02x%02x%02x']{stroke:#000}\n", rgb[0], rgb[1], rgb[2], rgb[0],
            rgb[1], rgb[2]);
    }
    fputs("}\n", out);
}

/* The paper asked for, with the margins that drawings leave; and which job and page a loose sheet is of, where a browser can
 * print it. */
static void
put_paper_style(const struct sheet_document *doc, FILE *out)
{
    fprintf(out, "@page{size:%s %s;margin:40pt;@bottom-left{font:8pt sans-serif;content:", doc->paper == SHEET_LETTER ? "letter" : "A4",
        doc->landscape ? "landscape" : "portrait");
    put_style_string(names_text(&doc->job->r->texts, doc->job->r->job.name), out);
    fputs("}@bottom-right{font:8pt sans-serif;content:'page ' counter(page) ' of ' counter(pages)}}\n", out);
}

/* The whole style sheet; free() it. NULL without memory. */
static char *
style_of(const struct sheet_document *doc)
{
    char *text = NULL;
    size_t n = 0;
    FILE *out = open_memstream(&text, &n);
    if (!out)
        return NULL;
    fputs(html_style, out);
    put_drawing_style(doc->landscape, out);
    put_ink_style(out);
    put_paper_style(doc, out);
    bool whole = !ferror(out);
    if (fclose(out) == 0 && whole)
        return text;
    free(text);
    return NULL;
}

/* Nothing is fetched, nothing runs, and the one style sheet is the one with this digest. */
static void
put_policy(const char *style, FILE *out)
{
    unsigned char digest[DIGEST_BYTES];
    char base64[64]; /* 44 of 32 bytes, and a zero */
    struct digest d;
    digest_begin(&d);
    digest_take(&d, style, strlen(style));
    digest_now(&d, digest);
    sodium_bin2base64(base64, sizeof base64, digest, sizeof digest, sodium_base64_VARIANT_ORIGINAL);
    fprintf(out, "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'sha256-%s'; base-uri 'none'; "
        "form-action 'none'\"/>\n", base64);
}

/* ---- the page ---- */

static void
put_head(const char *job, const char *style, FILE *out)
{
    fputs("<!DOCTYPE html>\n<html xmlns=\"http://www.w3.org/1999/xhtml\" lang=\"en\" xml:lang=\"en\">\n<head>\n<meta charset=\"utf-8\"/>\n", out);
    put_policy(style, out);
    fputs("<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\"/>\n<meta name=\"color-scheme\" content=\"light dark\"/>\n"
          "<meta name=\"format-detection\" content=\"telephone=no\"/>\n<meta name=\"referrer\" content=\"no-referrer\"/>\n<title>", out);
    canvas_escape(job, out);
    fprintf(out, ": sheets</title>\n<style>%s</style>\n</head>\n", style);
}

/* Lines of a text, each a paragraph. */
static void
put_lines(const char *text, bool alert, FILE *out)
{
    char line[SHEET_REMARK * 2];
    for (size_t n; *text; text += n + (text[n] == '\n')) {
        n = strcspn(text, "\n");
        snprintf(line, sizeof line, "%.*s", (int)n, text);
        fputs(alert ? "<p class=\"alert\">" : "<p>", out);
        html_words(line, out);
        fputs("</p>\n", out);
    }
}

/* Levels are booked, and not one line of them closes. */
static bool
nothing_closes(const struct job *job)
{
    size_t i = 0;
    while (i < job->work.links && job->work.link[i].kind == LEVEL_SPUR)
        i++;
    return i > 0 && i == job->work.links;
}

/* The job, and what every page on paper says of it: the last two lines are how it closes, and how far it is sealed. */
static void
put_title(const struct sheet_document *doc, const struct page_words *words, FILE *out)
{
    const struct scan_chain *chain = &doc->job->r->chain;
    fputs("<header>\n<h1>", out);
    html_name(names_text(&doc->job->r->texts, doc->job->r->job.name), out);
    fputs("</h1>\n", out);
    for (size_t i = 0; i < words->lines; i++) {
        bool closes = i + 2 == words->lines, seals = i + 1 == words->lines;
        bool alert = (closes && (doc->job->outside || nothing_closes(doc->job))) || (seals && (chain->broken > 0 || chain->bad_seals > 0));
        put_lines(words->bytes + words->line[i], alert, out);
    }
    fputs("</header>\n", out);
}

static void
put_contents(const struct body *b, FILE *out)
{
    fputs("<nav id=\"sheets\" tabindex=\"-1\" aria-label=\"Sheets\">\n<ul>\n", out);
    for (size_t i = 0; i < SECTIONS; i++)
        if (b->size[i] > 0)
            fprintf(out, "<li><a href=\"#%s\">%s</a></li>\n", id_of(&sections[i]), title_of(&sections[i]));
    fputs("</ul>\n</nav>\n", out);
}

static void
put_sections(const struct body *b, FILE *out)
{
    fputs("<main id=\"main\" tabindex=\"-1\">\n", out);
    for (size_t i = 0; i < SECTIONS; i++) {
        if (b->size[i] == 0)
            continue;
        fprintf(out, "<section id=\"%s\" aria-labelledby=\"%s-title\">\n<div class=\"top\"><h2 id=\"%s-title\">%s</h2>", id_of(&sections[i]), id_of(&sections[i]),
            id_of(&sections[i]), title_of(&sections[i]));
        fputs(" <a class=\"back\" href=\"#sheets\">back to the list of sheets</a></div>\n", out);
        fwrite(b->text[i], 1, b->size[i], out);
        fputs("</section>\n", out);
    }
    fputs("</main>\n", out);
}

static int
put_document(const struct sheet_document *doc, const struct page_words *words, const struct body *b, FILE *out)
{
    const char *job = names_text(&doc->job->r->texts, doc->job->r->job.name);
    char *style = style_of(doc);
    if (!style)
        return -1;
    put_head(job, style, out);
    free(style);
    fputs("<body>\n<a class=\"skip\" href=\"#main\">Skip to the sheets</a>\n", out);
    int rc = html_shapes(out);
    put_title(doc, words, out);
    put_contents(b, out);
    put_sections(b, out);
    fputs("<footer>\n<p>", out);
    html_name(job, out);
    fputs(": made from the record by rodbook. The record is what counts; this page can be made again.</p>\n</footer>\n</body>\n</html>\n", out);
    return rc;
}

enum sheet_status
sheet_html(const struct sheet_document *doc, FILE *out)
{
    struct body b = { 0 };
    struct page_words words = { 0 };
    int rc = page_words_open(&words, doc);
    if (rc == 0)
        rc = fill(&b, doc);
    bool something = b.filled > 0;
    if (rc == 0 && something)
        rc = put_document(doc, &words, &b, out);
    page_words_release(&words);
    body_release(&b);
    return rc != 0 ? SHEET_EMEMORY : something ? SHEET_OK : SHEET_ENOTHING;
}
