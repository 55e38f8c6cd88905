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
    { SHEET_FIGURE_LOOPS, "loops", "Loops", NULL,
        "Benchmarks and turning points of each line, its misclosure set-up by set-up, and what does not fit. The field book has every reading in a table." },
    { SHEET_FIGURE_RECORD, NULL, NULL, NULL, NULL },
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

static void
put_page(const struct canvas *c, size_t page, const struct section *s, FILE *out)
{
    char id[48];
    snprintf(id, sizeof id, "%s-%zu", id_of(s), page + 1);
    bool alone = c->pages == 1; /* the section's heading says it */
    fprintf(out, "<figure>\n<figcaption id=\"%s-caption\"%s>%s", id, alone ? " class=\"sr\"" : "", title_of(s));
    if (alone)
        fputs(", drawing", out); /* two regions are never named alike */
    else
        fprintf(out, ", %zu of %zu", page + 1, c->pages);
    fprintf(out, "</figcaption>\n<div class=\"scroll drawing\" role=\"region\" tabindex=\"0\" aria-labelledby=\"%s-caption\">\n", id);
    canvas_svg(c, page, CANVAS_SVG_INLINE, id, out);
    fputs("</div>\n</figure>\n", out);
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
    for (size_t i = 0; rc == 0 && i < c.pages; i++)
        put_page(&c, i, s, out);
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

/* The least width of drawings, for type of 12 px; the paper asked for, with the margins that drawings leave; and which job and
 * page a loose sheet is of, where a browser can print it. */
static void
put_paper_style(const struct sheet_document *doc, FILE *out)
{
    fprintf(out, "@media screen{.drawing svg{min-width:%s}}\n@page{size:%s %s;margin:40pt;@bottom-left{font:8pt sans-serif;content:", doc->landscape ? "80rem" : "54rem",
        doc->paper == SHEET_LETTER ? "letter" : "A4",
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
        bool alert = (closes && doc->job->outside) || (seals && (chain->broken > 0 || chain->bad_seals > 0));
        put_lines(words->bytes + words->line[i], alert, out);
    }
    fputs("</header>\n", out);
}

static void
put_contents(const struct body *b, FILE *out)
{
    fputs("<nav aria-label=\"Sheets\">\n<ul>\n", out);
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
        fprintf(out, "<section id=\"%s\" aria-labelledby=\"%s-title\">\n<h2 id=\"%s-title\">%s</h2>\n", id_of(&sections[i]), id_of(&sections[i]),
            id_of(&sections[i]), title_of(&sections[i]));
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
