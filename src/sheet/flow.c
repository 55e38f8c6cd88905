/* flow.c - a text sheet that was taken apart, on pages */
#include "flow.h"

#include <string.h>

#define LEADING 1.32
#define INDENT 10.0       /* points, for each level */
#define REMARKS_LEAST 110.0 /* points that the last column keeps, to be read without breaking every word */

/* How wide each column is with nothing broken. */
static void
natural_widths(const struct capture_table *t, double size, double width[TABLE_COLUMNS])
{
    const char *p = t->bytes;
    char text[SHEET_REMARK * 2];
    for (size_t i = 0; i < t->columns; i++)
        width[i] = t->filled[i] ? canvas_text_width(t->column[i].heading, PAGE_SMALL, false) : 0;
    for (size_t k = 0; t->columns > 0 && k < t->cells; k++) {
        size_t bytes, i = k % t->columns;
        const char *cell = table_take_cell(&p, &bytes);
        snprintf(text, sizeof text, "%.*s", (int)bytes, cell);
        double w = canvas_text_width(text, size, false);
        width[i] = w > width[i] ? w : width[i];
    }
}

struct plan_of_table {
    struct page_column column[TABLE_COLUMNS];
    size_t of[TABLE_COLUMNS]; /* the table's column that each shows */
    size_t columns;
    double size;
    bool below; /* the last column stands below its row, over the whole width */
};

static bool
has_remarks(const struct capture_table *t)
{
    return !t->column[t->columns - 1].right && t->filled[t->columns - 1];
}

/* Sum of the columns before the last, with their gaps. */
static double
before_last(const struct capture_table *t, const double width[TABLE_COLUMNS])
{
    double sum = 0;
    for (size_t i = 0; i + 1 < t->columns; i++)
        sum += t->filled[i] ? width[i] + PAGE_GAP : 0;
    return sum;
}

/* The largest type in which the columns before the last leave room for it. */
static struct plan_of_table
plan_table(const struct capture_table *t, double room)
{
    struct plan_of_table plan = { .size = PAGE_TEXT };
    double width[TABLE_COLUMNS] = { 0 };
    for (int smaller = 0;; smaller++) {
        plan.size = PAGE_TEXT - 0.5 * smaller;
        natural_widths(t, plan.size, width);
        double last = width[t->columns - 1], needs = has_remarks(t) && last > REMARKS_LEAST ? REMARKS_LEAST : last;
        if (before_last(t, width) + needs <= room || plan.size <= PAGE_SMALL)
            break;
    }
    for (size_t i = 0; i < t->columns; i++) {
        bool remarks = i + 1 == t->columns && has_remarks(t);
        if (!t->filled[i])
            continue;
        double spare = room - before_last(t, width);
        struct page_column c = { t->column[i].heading, width[i], t->column[i].right ? CANVAS_END : CANVAS_START, false, false };
        if (remarks && width[i] > spare) {
            c.width = spare > REMARKS_LEAST ? spare : REMARKS_LEAST;
            c.wraps = true;
        }
        plan.of[plan.columns] = i;
        plan.column[plan.columns++] = c;
    }
    return plan;
}

/* "/4.62/" is 4.62, struck. */
static bool
is_struck(const char *text, size_t n)
{
    return n > 2 && text[0] == '/' && text[n - 1] == '/';
}

static void
strike_through(struct pages *p, const struct page_table *t, size_t i, double base, const char *text)
{
    double w = canvas_text_width(text, t->size, false), x = t->left[i], y = base - t->size * 0.27;
    if (t->column[i].anchor == CANVAS_END)
        x += t->width[i] - w;
    canvas_line(p->canvas, (struct canvas_pen){ 1.1, CANVAS_ALERT, CANVAS_SOLID }, x - 1.5, y, x + w + 1.5, y);
}

static void
flow_row(struct page_table *t, const struct capture_table *k, const struct plan_of_table *plan, const char **p)
{
    char text[TABLE_COLUMNS][SHEET_REMARK * 2];
    const char *cell[TABLE_COLUMNS];
    bool struck[TABLE_COLUMNS] = { false };
    for (size_t i = 0, shown = 0; i < k->columns; i++) {
        size_t bytes;
        const char *from = table_take_cell(p, &bytes);
        if (shown == plan->columns || plan->of[shown] != i)
            continue;
        struck[shown] = k->column[i].right && is_struck(from, bytes); /* a remark between strokes is a remark */
        snprintf(text[shown], sizeof text[shown], "%.*s", (int)(bytes - (struck[shown] ? 2 : 0)), from + struck[shown]);
        cell[shown] = text[shown];
        shown++;
    }
    double base = page_table_row(t, cell);
    for (size_t i = 0; i < plan->columns; i++)
        if (struck[i])
            strike_through(t->p, t, i, base, cell[i]);
}

static void
flow_table(struct pages *p, const struct capture_table *k)
{
    struct plan_of_table plan = plan_table(k, p->right - p->left);
    struct page_table t;
    const char *at = k->bytes;
    page_table_open(&t, p, plan.column, plan.columns, plan.size);
    for (size_t i = 0; i < k->cells && !p->canvas->no_memory; i += k->columns)
        flow_row(&t, k, &plan, &at);
    page_table_close(&t);
}

void
flow_blocks(struct pages *p, const struct capture *c, size_t from)
{
    for (size_t i = from; i < c->blocks && !p->canvas->no_memory; i++) {
        const struct capture_block *b = &c->block[i];
        const char *text = c->text + b->text;
        switch (b->kind) {
        case CAPTURE_HEADING:
            if (pages_room(p, 6 * PAGE_HEADING))
                pages_skip(p, 7);
            pages_line(p, (struct canvas_type){ PAGE_HEADING, CANVAS_START, CANVAS_BLACK, true, 0 }, text);
            pages_skip(p, 1);
            break;
        case CAPTURE_TEXT:
            pages_indented(p, (struct canvas_type){ PAGE_TEXT - (b->level > 1 ? 0.5 : 0), CANVAS_START, CANVAS_BLACK, false, 0 },
                b->level > 1 ? (b->level - 1) * INDENT : 0, text);
            break;
        case CAPTURE_TABLE:
            flow_table(p, &c->table[b->table]);
            break;
        }
    }
}
