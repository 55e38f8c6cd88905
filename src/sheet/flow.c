/* flow.c - a text sheet that was taken apart, on pages */
#include "flow.h"

#include "rodbook/room.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define LEADING 1.32
#define INDENT 10.0       /* points, for each level */
#define BEFORE_HEADING 7.0 /* points of white */
#define BEFORE_NOTES 4.0   /* what is said of all that stands above */
#define LEAD_IN 6         /* lines between a heading and its table, or the heading of its table, that stay with both */
#define WORDS_WHOLE 12    /* of texts one below the other, such as the checks of a run: so many lines stay together */
#define PARAGRAPH_WHOLE 6 /* lines */
#define ROWS_WHOLE 6      /* a table of so many rows, or fewer, stays whole */
#define BEFORE_TABLE 4.0  /* points of white between a check and the rows of the next page of the book */
#define NO_BLOCK SIZE_MAX
#define REMARKS_LEAST 110.0 /* points that the last column keeps, to be read without breaking every word... */
#define NAMES_LEAST 64.0   /* ...and other texts, over several lines where they are longer */
#define NAMES_USUAL 128.0
#define SMALLEST 6.0       /* type, points: only tables with very wide figures come to it */

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

struct flow_table {
    struct page_column column[TABLE_COLUMNS];
    size_t of[TABLE_COLUMNS]; /* the table's column that each shows */
    size_t columns;
    double size;
    struct page_table page; /* as it is set */
};

/* How firmly two lines stay on one page: not at all; where all that stays together so has room on one; before all others. */
enum hold { HOLD_NOT, HOLD_WHOLE, HOLD_FIRM };

/* A line of text or a row. */
struct flow_strip {
    double before, height; /* points; white above it, left out at the top of a page */
    const char *text;      /* bytes of a line; a row's cells */
    size_t bytes;
    size_t block;          /* of the capture */
    size_t heading;        /* the block of the heading that it stands under, or NO_BLOCK */
    enum hold hold;        /* whether a page may end behind it */
    bool last;             /* of its block */
};

/* What a column takes at least: figures their width, names and remarks so much that few words are broken. */
static double
least_width(const struct capture_table *t, size_t i, double natural)
{
    double least = i + 1 == t->columns ? REMARKS_LEAST : NAMES_LEAST;
    return t->column[i].right || natural < least ? natural : least;
}

/* Of all columns that are shown, with their gaps. */
static double
least_in_all(const struct capture_table *t, const double natural[TABLE_COLUMNS])
{
    double sum = -PAGE_GAP;
    for (size_t i = 0; i < t->columns; i++)
        sum += t->filled[i] ? least_width(t, i, natural[i]) + PAGE_GAP : 0;
    return sum;
}

/* What is left over beyond the least widths goes to names, up to what most names take; then to remarks; then to longer names. */
static void
share_out(const struct capture_table *t, const double natural[TABLE_COLUMNS], double spare, double given[TABLE_COLUMNS])
{
    size_t last = t->columns - 1;
    for (size_t i = 0; i <= last; i++)
        given[i] = t->filled[i] ? least_width(t, i, natural[i]) : 0;
    for (int turn = 0; turn < 3; turn++)
        for (size_t i = 0; i <= last; i++) {
            double wants = turn == 0 ? fmin(natural[i], NAMES_USUAL) : natural[i];
            if (!t->filled[i] || (turn == 1) != (i == last) || wants <= given[i])
                continue;
            double more = fmin(wants - given[i], spare);
            given[i] += more;
            spare -= more;
        }
}

/* The largest type, up to `most`, in which all columns have room; names and remarks that want more than they get go over several lines. */
static struct flow_table
plan_table(const struct capture_table *t, double most, double room)
{
    struct flow_table plan = { .size = most };
    double width[TABLE_COLUMNS] = { 0 };
    natural_widths(t, plan.size, width);
    while (least_in_all(t, width) > room && plan.size > SMALLEST) {
        plan.size -= 0.5;
        natural_widths(t, plan.size, width);
    }
    double least = least_in_all(t, width), given[TABLE_COLUMNS], squeeze = least > room ? room / least : 1;
    share_out(t, width, room > least ? room - least : 0, given);
    for (size_t i = 0; i < t->columns; i++) {
        if (!t->filled[i])
            continue;
        plan.of[plan.columns] = i;
        plan.column[plan.columns++] = (struct page_column){ t->column[i].heading, given[i] * squeeze,
            t->column[i].right ? CANVAS_END : CANVAS_START, false, !t->column[i].right && given[i] < width[i] };
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

/* ---- rows ---- */

struct row {
    char text[TABLE_COLUMNS][SHEET_REMARK * 2];
    const char *cell[TABLE_COLUMNS];
    bool struck[TABLE_COLUMNS];
};

/* The cells at *p of the columns that are shown; then *p is the next row. */
static void
take_row(struct row *row, const struct capture_table *k, const struct flow_table *plan, const char **p)
{
    for (size_t i = 0, shown = 0; i < k->columns; i++) {
        size_t bytes;
        const char *from = table_take_cell(p, &bytes);
        if (shown == plan->columns || plan->of[shown] != i)
            continue;
        bool struck = k->column[i].right && is_struck(from, bytes); /* a remark between strokes is a remark */
        snprintf(row->text[shown], sizeof row->text[shown], "%.*s", (int)(bytes - (struck ? 2 : 0)), from + struck);
        row->cell[shown] = row->text[shown];
        row->struck[shown++] = struck;
    }
}

static void
set_row(const struct flow *f, const struct flow_strip *s)
{
    size_t number = f->c->block[s->block].table;
    struct flow_table *t = &f->table[number];
    const char *cells = s->text;
    struct row row;
    take_row(&row, &f->c->table[number], t, &cells);
    double base = page_table_row(&t->page, row.cell);
    for (size_t i = 0; i < t->columns; i++)
        if (row.struck[i])
            strike_through(f->p, &t->page, i, base, row.cell[i]);
    if (s->last)
        page_table_close(&t->page);
}

/* ---- measuring ---- */

static struct flow_strip *
new_strip(struct flow *f, struct flow_strip s)
{
    struct flow_strip *grown = room_for(f->strip, &f->room, f->strips, sizeof *grown);
    f->no_memory |= grown == NULL;
    if (!grown)
        return NULL;
    f->strip = grown;
    f->strip[f->strips] = s;
    return &f->strip[f->strips++];
}

/* The block behind the one at hand; NULL behind the last. */
static const struct capture_block *
block_behind(const struct flow *f, size_t block)
{
    return block + 1 < f->c->blocks ? &f->c->block[block + 1] : NULL;
}

/* A heading that heads nothing, and one that counts what stands above it, "10 of 10 holes read", belong to what is above. */
static bool
sums_up(const struct flow *f, size_t block)
{
    const struct capture_block *b = &f->c->block[block], *next = block_behind(f, block);
    char first = f->c->text[b->text];
    bool heads = next && (next->kind == CAPTURE_TABLE || (next->kind == CAPTURE_TEXT && next->level > 0));
    return b->kind == CAPTURE_HEADING && (!heads || (first >= '0' && first <= '9'));
}

/* Whether what stands below a block is told of it: no page ends between the two. */
static bool
keeps_next(const struct flow *f, size_t block, size_t lead)
{
    const struct capture_block *b = &f->c->block[block], *next = block_behind(f, block);
    if (!next || (next->kind == CAPTURE_TEXT && next->level == 0))
        return false;
    switch (b->kind) {
    case CAPTURE_HEADING:
        return next->kind != CAPTURE_HEADING;
    case CAPTURE_TABLE:
        return next->kind == CAPTURE_TEXT || sums_up(f, block + 1);
    case CAPTURE_TEXT:
        break;
    }
    bool leads = b->level > 0 && lead > 0 && (next->kind == CAPTURE_TABLE || (next->kind == CAPTURE_TEXT && lead <= LEAD_IN));
    return leads || (next->kind == CAPTURE_TEXT && (next->level > b->level || (next->level == b->level && b->level > 1)));
}

static const struct canvas_type heading_type = { PAGE_HEADING, CANVAS_START, CANVAS_BLACK, true, 0 };

static struct canvas_type
type_of(const struct flow *f, const struct capture_block *b)
{
    bool loud = sheet_warns(f->c->text + b->text);
    if (b->kind == CAPTURE_HEADING)
        return heading_type;
    return (struct canvas_type){ PAGE_TEXT - (b->level > 1 ? 0.5 : 0), CANVAS_START, loud ? CANVAS_ALERT : CANVAS_BLACK, loud, 0 };
}

static double
indent_of(const struct capture_block *b)
{
    return b->kind == CAPTURE_TEXT && b->level > 1 ? (b->level - 1) * INDENT : 0;
}

/* The lines of a heading or text; `lead` counts lines since the heading that a table stands under, 0: none does. */
static void
measure_text(struct flow *f, size_t block, size_t heading, size_t lead)
{
    const struct capture_block *b = &f->c->block[block];
    struct canvas_type type = type_of(f, b);
    bool is_heading = b->kind == CAPTURE_HEADING, notes = b->kind == CAPTURE_TEXT && b->level == 0;
    size_t first = f->strips, lines = 0;
    double most = f->p->right - f->p->left - indent_of(b);
    for (const char *text = f->c->text + b->text, *next; *text; text = next, lines++) {
        size_t n = page_wrap(text, type.size, type.bold, most, &next);
        double before = lines > 0 ? 0 : is_heading ? BEFORE_HEADING : notes ? BEFORE_NOTES : 0;
        if (!new_strip(f, (struct flow_strip){ .before = before, .height = type.size * LEADING, .text = text, .bytes = n,
                .block = block, .heading = heading, .hold = is_heading ? HOLD_FIRM : HOLD_NOT }))
            return;
    }
    for (size_t i = first; i + 1 < f->strips; i++)
        if (i == first || i + 2 == f->strips)
            f->strip[i].hold = HOLD_FIRM;
        else if (lines <= PARAGRAPH_WHOLE && !is_heading)
            f->strip[i].hold = HOLD_WHOLE;
    if (lines == 0)
        return;
    f->strip[f->strips - 1].hold = keeps_next(f, block, lead) ? HOLD_FIRM : HOLD_NOT;
    f->strip[f->strips - 1].height += is_heading ? 1 : 0;
    f->strip[f->strips - 1].last = true;
}

static void
measure_table(struct flow *f, size_t block, size_t heading)
{
    const struct capture_table *k = &f->c->table[f->c->block[block].table];
    struct flow_table *t = &f->table[f->c->block[block].table];
    const char *at = k->bytes;
    struct row row;
    page_table_open(&t->page, f->p, t->column, t->columns, t->size);
    size_t rows = k->columns > 0 ? k->cells / k->columns : 0;
    bool checked = block > 0 && f->c->block[block - 1].kind == CAPTURE_TEXT && f->c->block[block - 1].level > 1;
    for (size_t i = 0; i < rows && !f->no_memory; i++) {
        const char *cells = at;
        bool first = i == 0, last = i + 1 == rows, kept = first || i + 2 == rows || rows <= ROWS_WHOLE;
        take_row(&row, k, t, &at);
        double more = (first ? PAGE_TABLE_HEAD : 0) + (last ? PAGE_TABLE_END : 0);
        (void)new_strip(f, (struct flow_strip){ .before = first && checked ? BEFORE_TABLE : 0,
            .height = page_table_height(&t->page, row.cell) + more, .text = cells, .block = block, .heading = heading, .last = last,
            .hold = (last ? keeps_next(f, block, 0) : kept) ? HOLD_FIRM : HOLD_NOT });
    }
}

#define KIN_COLUMNS 3

/* Tables that begin with the same columns are read one against the other, as a run both ways. */
static bool
are_kin(const struct capture_table *a, const struct capture_table *b)
{
    bool kin = a->columns >= KIN_COLUMNS && b->columns >= KIN_COLUMNS;
    for (size_t i = 0; kin && i < KIN_COLUMNS; i++)
        kin = strcmp(a->column[i].heading, b->column[i].heading) == 0;
    return kin;
}

/* One size of type for those that follow each other. */
static void
plan_tables(struct flow *f)
{
    const struct capture *c = f->c;
    double room = f->p->right - f->p->left;
    for (size_t i = 0; i < c->tables; i++)
        f->table[i] = plan_table(&c->table[i], PAGE_TEXT, room);
    for (size_t i = 0, end; i < c->tables; i = end) {
        double least = f->table[i].size;
        for (end = i + 1; end < c->tables && are_kin(&c->table[i], &c->table[end]); end++)
            least = fmin(least, f->table[end].size);
        for (size_t k = i; k < end; k++)
            if (f->table[k].size > least)
                f->table[k] = plan_table(&c->table[k], least, room);
    }
}

/* Lines from `block` on to the table that they lead to, and one; 0 where they lead to none. */
static size_t
lead_of(const struct flow *f, size_t block)
{
    size_t i = block;
    while (i < f->c->blocks && f->c->block[i].kind == CAPTURE_TEXT && f->c->block[i].level > 0)
        i++;
    return i < f->c->blocks && f->c->block[i].kind == CAPTURE_TABLE ? i - block + 1 : 0;
}

/* A heading that says what several others are about. */
static bool
names_entry(const struct flow *f, size_t block)
{
    return f->c->block[block].kind == CAPTURE_HEADING && strstr(f->c->text + f->c->block[block].text, ", entry ") != NULL;
}

/* What a text or row stands under: what notes speak of stands above all of them. */
static size_t
heading_at(const struct flow *f, size_t block, size_t above)
{
    const struct capture_block *b = &f->c->block[block], *next = block_behind(f, block);
    bool heads = b->kind == CAPTURE_HEADING && (!sums_up(f, block) || (next && next->kind == CAPTURE_TEXT && next->level > 0));
    if (heads)
        return block;
    return b->kind == CAPTURE_HEADING || (b->kind == CAPTURE_TEXT && b->level == 0) ? NO_BLOCK : above;
}

static void
measure(struct flow *f, size_t from)
{
    size_t heading = NO_BLOCK, lead = lead_of(f, from);
    for (size_t i = from; i < f->c->blocks && !f->no_memory; i++) {
        const struct capture_block *b = &f->c->block[i];
        heading = heading_at(f, i, heading);
        if (b->kind == CAPTURE_HEADING)
            lead = lead_of(f, i + 1);
        else if (b->kind == CAPTURE_TABLE || b->level == 0)
            lead = 0;
        if (b->kind == CAPTURE_TABLE)
            measure_table(f, i, heading);
        else
            measure_text(f, i, heading, lead);
    }
}

/* ---- what stays together ---- */

/* True for a line of what is said one below the other: no row, no note, and no heading but one that sums up. */
static bool
is_said(const struct flow *f, size_t i)
{
    size_t block = f->strip[i].block;
    const struct capture_block *b = &f->c->block[block];
    return b->kind == CAPTURE_HEADING ? sums_up(f, block) : b->kind == CAPTURE_TEXT && b->level > 0;
}

static void
hold_at_least(struct flow *f, size_t from, size_t end)
{
    for (size_t i = from; i < end; i++)
        if (f->strip[i].hold == HOLD_NOT)
            f->strip[i].hold = HOLD_WHOLE;
}

/* Few lines of text stay whole: both checks of a run, the closures, what is ordered. */
static void
hold_words(struct flow *f)
{
    for (size_t i = 0, end; i < f->strips; i = end + 1) {
        for (end = i; end < f->strips && is_said(f, end);)
            end++;
        if (end > i && end - i <= WORDS_WHOLE)
            hold_at_least(f, i, end - 1);
    }
}

/* What a sheet begins with, and what is said of an entry, stays with the headings behind it up to the first table. */
static void
hold_headings(struct flow *f)
{
    bool leads = true;
    size_t lines = 0;
    for (size_t i = 0; i < f->strips; i++) {
        const struct flow_strip *s = &f->strip[i];
        bool heading = f->c->block[s->block].kind == CAPTURE_HEADING;
        if (i > 0 && heading && leads && lines <= LEAD_IN && !sums_up(f, s->block))
            hold_at_least(f, i - 1, i);
        leads = names_entry(f, s->block) || (leads && (heading || is_said(f, i)));
        lines = heading ? 0 : lines + 1;
    }
}

int
flow_open(struct flow *f, struct pages *p, const struct capture *c, size_t from)
{
    *f = (struct flow){ .p = p, .c = c };
    f->table = calloc(c->tables + 1, sizeof *f->table);
    f->no_memory = f->table == NULL;
    if (f->table)
        plan_tables(f);
    measure(f, from);
    hold_words(f);
    hold_headings(f);
    return f->no_memory ? -1 : 0;
}

void
flow_release(struct flow *f)
{
    free(f->table);
    free(f->strip);
    *f = (struct flow){ 0 };
}

/* ---- setting ---- */

/* How high strip i and what stays so firmly with it are, or more than `most`; *end is behind the last of them. */
static double
held_height(const struct flow *f, size_t i, enum hold hold, double most, size_t *end)
{
    double sum = f->strip[i].height;
    for (; i + 1 < f->strips && f->strip[i].hold >= hold && sum <= most; i++)
        sum += f->strip[i + 1].before + f->strip[i + 1].height;
    *end = i + 1;
    return sum;
}

bool
flow_joins(const struct flow *f, double title)
{
    const struct pages *p = f->p;
    double free = p->bottom - p->top - title, quarter = (p->bottom - p->begin) / 4, all = 0;
    size_t end;
    for (size_t i = 0; i < f->strips && all <= free; i++)
        all += f->strip[i].before + f->strip[i].height;
    return all <= free || (free + title >= quarter && held_height(f, 0, HOLD_WHOLE, free, &end) <= free);
}

/*
 * Whether strip i goes to the next page. What stays together does, if it fits on one; else what stays together more
 * firmly; else as little as can be. All before *end were found to fit; below a very long heading they may not.
 */
static bool
wants_page(const struct flow *f, size_t i, size_t *end)
{
    const struct pages *p = f->p;
    if (i < *end)
        return f->strip[i].before + f->strip[i].height > p->bottom - p->top && p->top > p->begin;
    double before = p->top > p->begin ? f->strip[i].before : 0;
    double free = p->bottom - p->top - before, whole = p->bottom - p->begin - 2 * PAGE_HEADING * LEADING - PAGE_TABLE_HEAD;
    for (enum hold hold = HOLD_WHOLE; hold <= HOLD_FIRM; hold++) {
        double held = held_height(f, i, hold, whole, end);
        if (held <= whole || held <= free)
            return held > free;
    }
    *end = i + 1;
    return f->strip[i].height > free;
}

/* True where another heading says the same, as each row of posts has its "Heights". */
static bool
is_repeated(const struct flow *f, size_t heading)
{
    const char *text = f->c->text + f->c->block[heading].text;
    size_t n = strcspn(text, ":");
    for (size_t i = 0; i < f->c->blocks; i++) {
        const char *other = f->c->text + f->c->block[i].text;
        if (i != heading && f->c->block[i].kind == CAPTURE_HEADING && strcspn(other, ":") == n && memcmp(text, other, n) == 0)
            return true;
    }
    return false;
}

/* The heading that such a one stands under: the nearest above that names an entry; NO_BLOCK where there is none. */
static size_t
parent_of(const struct flow *f, size_t heading)
{
    if (!is_repeated(f, heading))
        return NO_BLOCK;
    while (heading-- > 0)
        if (names_entry(f, heading))
            return heading;
    return NO_BLOCK;
}

static void
say_again(const struct flow *f, const char *heading)
{
    char again[SHEET_SENTENCE];
    snprintf(again, sizeof again, "%s" PAGE_AGAIN, heading);
    pages_line(f->p, heading_type, again);
    pages_skip(f->p, 1);
}

static void
say_heading_again(const struct flow *f, size_t heading)
{
    if (heading != NO_BLOCK)
        say_again(f, f->c->text + f->c->block[heading].text);
}

/* A new page; where it goes on below a heading, that is said again; notes and what sums up go on with the sheet. */
static void
turn_to(const struct flow *f, size_t i)
{
    const struct flow_strip *s = &f->strip[i];
    const struct capture_block *b = &f->c->block[s->block];
    pages_turn(f->p, f->p->sheet);
    if (b->kind == CAPTURE_TABLE)
        f->table[b->table].page.headed = false;
    if (s->heading == NO_BLOCK) {
        if (i > 0)
            say_again(f, f->p->sheet);
        return;
    }
    say_heading_again(f, parent_of(f, s->heading));
    if (s->heading != s->block)
        say_heading_again(f, s->heading);
}

static void
set_line(const struct flow *f, const struct flow_strip *s)
{
    const struct capture_block *b = &f->c->block[s->block];
    struct canvas_type type = type_of(f, b);
    double indent = indent_of(b), most = f->p->right - f->p->left - indent;
    char line[SHEET_REMARK * 2];
    snprintf(line, sizeof line, "%.*s", (int)s->bytes, s->text);
    canvas_text_within(f->p->canvas, type, f->p->left + indent, f->p->top + type.size * CANVAS_CAPITAL, most, line);
    f->p->top += s->height;
}

void
flow_set(struct flow *f)
{
    struct pages *p = f->p;
    for (size_t i = 0, placed = 0; i < f->strips && !p->canvas->no_memory; i++) {
        const struct flow_strip *s = &f->strip[i];
        if (wants_page(f, i, &placed))
            turn_to(f, i);
        else if (p->top > p->begin)
            pages_skip(p, s->before);
        if (f->c->block[s->block].kind == CAPTURE_TABLE)
            set_row(f, s);
        else
            set_line(f, s);
    }
}

void
flow_blocks(struct pages *p, const struct capture *c, size_t from)
{
    struct flow f;
    if (flow_open(&f, p, c, from) == 0)
        flow_set(&f);
    p->canvas->no_memory |= f.no_memory;
    flow_release(&f);
}
