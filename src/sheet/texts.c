/* texts.c - sheets that are text and tables, for pages and HTML alike */
#include "texts.h"

static const struct text_sheet sheets[] = {
    { SHEET_FIGURE_SITE, "site", "Setting out" },
    { SHEET_FIGURE_SQUARE, "square", "Square" },
    { SHEET_FIGURE_PAD, "pad", "Pad" },
    { SHEET_FIGURE_POSTS, "posts", "Holes and posts" },
    { SHEET_FIGURE_CONCRETE, "concrete", "Concrete" },
    { SHEET_FIGURE_RUN, "run", "Runs of posts" },
    { SHEET_FIGURE_BOOK, "book", "Field book" },
    { SHEET_FIGURE_RECORD, "record", "Record sheet" },
};

const struct text_sheet *
text_sheet_of(enum sheet_figure bit)
{
    for (size_t i = 0; i < sizeof sheets / sizeof sheets[0]; i++)
        if (sheets[i].bit == bit)
            return &sheets[i];
    return NULL;
}

/* Whether the document has what the sheet is made from. */
static bool
has(const struct sheet_document *doc, enum sheet_figure bit)
{
    switch (bit) {
    case SHEET_FIGURE_SITE: return doc->building != NULL;
    case SHEET_FIGURE_SQUARE: return doc->square != NULL;
    case SHEET_FIGURE_PAD: return doc->earth != NULL;
    case SHEET_FIGURE_POSTS: return doc->posts != NULL;
    case SHEET_FIGURE_CONCRETE: return doc->order != NULL;
    case SHEET_FIGURE_RUN: return doc->settings != NULL;
    case SHEET_FIGURE_BOOK: return doc->job->r->runs > 0;
    case SHEET_FIGURE_RECORD: return doc->audit != NULL;
    default: return false;
    }
}

static int
print(const struct sheet_document *doc, enum sheet_figure bit, FILE *out)
{
    switch (bit) {
    case SHEET_FIGURE_SITE: return sheet_site(doc->building, out);
    case SHEET_FIGURE_SQUARE: return sheet_square(doc->square, out);
    case SHEET_FIGURE_PAD: return sheet_pad(doc->earth, out);
    case SHEET_FIGURE_POSTS: return sheet_posts(doc->posts, out);
    case SHEET_FIGURE_CONCRETE: return sheet_concrete(doc->order, out);
    case SHEET_FIGURE_RUN: return sheet_run(doc->settings, out);
    case SHEET_FIGURE_BOOK: return sheet_book(doc->job, SHEET_HI | SHEET_RISE_FALL, out);
    default: sheet_audit(doc->audit, out); return sheet_entries(doc->audit, out);
    }
}

int
text_sheet_take(const struct text_sheet *t, const struct sheet_document *doc, struct capture *c)
{
    *c = (struct capture){ 0 };
    if (!has(doc, t->bit))
        return 0;
    if (capture_open(c) != 0)
        return -1;
    int rc = print(doc, t->bit, c->out);
    return capture_close(c) == 0 ? rc : -1;
}
