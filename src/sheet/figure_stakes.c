/* figure_stakes.c - the stake sheet that is carried to the marks */
#include "figures.h"
#include "flow.h"
#include "moves.h"

#include <stdlib.h>
#include <string.h>

#define MOVE_SIZE 17.0 /* read at arm's length, in wind */
#define LEAVE_SIZE 12.0 /* of a mark that stays as it is: it is only looked for when all else is done */
#define MARK_SIZE 12.0
#define BOX 13.0

/* Of a row, points: from its rule down to the capitals; on to the base line of the small words below, clear of the large ones'
 * descenders; more white between those and remarks; from line to line of these; and from the last descender to the next rule. */
#define ROW_TOP 4.0
#define ROW_SMALL 11.0
#define ROW_APART 1.5
#define ROW_REMARK (PAGE_SMALL * 1.3)
#define ROW_BELOW 3.5
#define ROW_CLOSER 2.0 /* less white below, where that saves a page: rows are 94 % as high then */
#define NAME_LINE (MARK_SIZE * 1.32) /* of a name that stands over its row */

#define GAP 8.0         /* between columns */
#define BOX_COLUMN 27.0
#define SHAPE_COLUMN 24.0
#define AFTER_LEAST 60.0 /* to write a reading on */
#define MARK_LEAST 70.0 /* of a column of very long names, before others are narrowed as well */

static const struct canvas_pen thin = { 0.6, CANVAS_GREY, CANVAS_SOLID }, firm = { 1.1, CANVAS_BLACK, CANVAS_SOLID };
static const struct canvas_type small = { PAGE_SMALL, CANVAS_START, CANVAS_BLACK, false, 0 },
    pale = { PAGE_SMALL, CANVAS_START, CANVAS_GREY, false, 0 };

/* Columns of words, from the left. */
enum { MARK, MOVE, ROD, GRADE, WORDS };

struct stake_sheet {
    struct pages *p;
    const struct job *job;
    double left[WORDS], width[WORDS], shape, after; /* on every page */
    double closer;          /* points that each row is less high */
    double below;           /* height of what stays with the last mark of the lot at hand */
};

/* ---- what stands in the columns ---- */

/* Two lines of each: what is looked for, and what belongs to it. */
struct words {
    char line[WORDS][SHEET_WORDS * 2], more[WORDS][SHEET_WORDS * 2];
    const char *mark; /* instead of line[MARK] */
};

static const char *
name_of(const struct stake_sheet *k, const struct job_stake *s)
{
    return names_text(&k->job->r->names, s->at);
}

static struct words
words_of(const struct stake_sheet *k, const struct job_stake *s)
{
    const struct sheet_style *style = &k->p->style;
    struct words w = { .mark = name_of(k, s) };
    char sure[SHEET_WORDS];
    stpcpy(w.more[MARK], record_on_word((enum record_on)s->on));
    moves_words(w.line[MOVE], s, style);
    sheet_sure_words(sure, s->sigma, style);
    if (sure[0])
        snprintf(w.more[MOVE], sizeof w.more[MOVE], "+- %s", sure);
    moves_rod(w.line[ROD], s, style);
    moves_rod_from(w.more[ROD], k->job, s, style);
    moves_cut(w.line[GRADE], s, style);
    moves_levels(w.more[GRADE], s, style);
    return w;
}

/* How they are set. What is an order stands in black: the kind of the mark and the set-up that its rod is read from, too. */
static struct canvas_type
type_of(const struct job_stake *s, size_t column)
{
    bool plain = s->verdict == JOB_LEAVE || s->verdict == JOB_UNREAD;
    switch (column) {
    case MOVE: return (struct canvas_type){ s->verdict == JOB_LEAVE ? LEAVE_SIZE : MOVE_SIZE, CANVAS_START, moves_ink(s), !plain, 0 };
    case GRADE: return (struct canvas_type){ PAGE_TEXT, CANVAS_START, CANVAS_BLACK, false, 0 };
    default: return (struct canvas_type){ MARK_SIZE, CANVAS_START, CANVAS_BLACK, true, 0 };
    }
}

static const char *
heading_of(const struct stake_sheet *k, size_t column)
{
    static const char *const headings[] = { "mark", "move", "grade rod" };
    return column == GRADE ? moves_cut_heading(&k->p->style) : headings[column];
}

/* ---- where the columns stand ---- */

static void
widen(double *width, double to)
{
    *width = to > *width ? to : *width;
}

/* As wide as what stands in them. */
static void
natural_widths(struct stake_sheet *k)
{
    for (size_t i = 0; i < WORDS; i++)
        k->width[i] = canvas_text_width(heading_of(k, i), PAGE_SMALL, false);
    for (size_t n = 0; n < k->job->stakes; n++) {
        const struct job_stake *s = &k->job->stake[n];
        struct words w = words_of(k, s);
        for (size_t i = 0; i < WORDS; i++) {
            struct canvas_type type = type_of(s, i);
            widen(&k->width[i], canvas_text_width(i == MARK ? w.mark : w.line[i], type.size, type.bold));
            widen(&k->width[i], canvas_text_width(w.more[i], PAGE_SMALL, false));
        }
    }
}

/* What is left over goes to all columns, most of it to the one that is written in; names give first where there is too little. */
static void
share_out(struct stake_sheet *k)
{
    double most = k->p->right - k->p->left - BOX_COLUMN - SHAPE_COLUMN - AFTER_LEAST - WORDS * GAP, sum = 0;
    for (size_t i = 0; i < WORDS; i++)
        sum += k->width[i];
    double names = sum > most && k->width[MARK] > MARK_LEAST ? k->width[MARK] - MARK_LEAST : 0;
    names = names < sum - most ? names : sum > most ? sum - most : 0;
    k->width[MARK] -= names;
    sum -= names;
    for (size_t i = 0; i < WORDS; i++)
        k->width[i] = sum > most ? k->width[i] * most / sum : k->width[i] + (most - sum) * 0.15;
}

static void
place_columns(struct stake_sheet *k)
{
    natural_widths(k);
    share_out(k);
    double x = k->p->left + BOX_COLUMN;
    for (size_t i = 0; i < WORDS; i++) {
        k->shape = i == MOVE ? x + MOVES_SHAPE / 2 : k->shape;
        x += i == MOVE ? SHAPE_COLUMN : 0;
        k->left[i] = x;
        x += k->width[i] + GAP;
    }
    k->after = x;
}

static void
headings(const struct stake_sheet *k)
{
    struct pages *p = k->p;
    double y = p->top + PAGE_SMALL;
    canvas_text(p->canvas, pale, p->left, y, "done");
    for (size_t i = 0; i < WORDS; i++)
        canvas_text_within(p->canvas, pale, i == MOVE ? k->shape - MOVES_SHAPE / 2 : k->left[i], y, k->width[i], heading_of(k, i));
    canvas_text_within(p->canvas, pale, k->after, y, p->right - k->after, "reads after");
    canvas_line(p->canvas, thin, p->left, y + 4, p->right, y + 4);
    p->top = y + 5;
}

#define HEADINGS (PAGE_SMALL + 5)

/* ---- one mark ---- */

/* A name that has no room in its column, even narrowed, stands over the others: how high it is there. */
static double
name_height(const struct stake_sheet *k, const struct job_stake *s)
{
    const char *name = name_of(k, s);
    if (canvas_text_width(name, MARK_SIZE, true) * PAGE_NARROWEST <= k->width[MARK])
        return 0;
    return (double)page_lines(name, MARK_SIZE, true, k->p->right - k->left[MARK]) * NAME_LINE;
}

static void
put_name(const struct stake_sheet *k, const struct job_stake *s, double y)
{
    char line[SHEET_WORDS];
    double most = k->p->right - k->left[MARK];
    y += ROW_TOP + MARK_SIZE * CANVAS_CAPITAL;
    for (const char *name = name_of(k, s), *next; *name; name = next) {
        size_t n = page_wrap(name, MARK_SIZE, true, most, &next);
        snprintf(line, sizeof line, "%.*s", (int)n, name);
        canvas_text_within(k->p->canvas, type_of(s, MARK), k->left[MARK], y, most, line);
        y += NAME_LINE;
    }
}

/* Below the row's rule: the base line of what is looked for. */
static double
base_of(const struct stake_sheet *k, const struct job_stake *s)
{
    return ROW_TOP + name_height(k, s) + CANVAS_CAPITAL * (s->verdict == JOB_LEAVE ? LEAVE_SIZE : MOVE_SIZE);
}

/* What hangs on levels that are not to be trusted is seen at once. */
static struct canvas_type
remark_type(const struct job_stake *s)
{
    return moves_doubtful(s) ? (struct canvas_type){ PAGE_SMALL, CANVAS_START, CANVAS_ALERT, true, 0 } : small;
}

/* Lines of remarks, over all columns but the first. */
static double
remarks_height(const struct stake_sheet *k, const struct job_stake *s, const char *remarks)
{
    size_t lines = page_lines(remarks, PAGE_SMALL, remark_type(s).bold, k->p->right - k->left[MARK]);
    return (double)lines * ROW_REMARK + (lines > 0 ? ROW_APART : 0);
}

static void
put_remarks(const struct stake_sheet *k, const struct job_stake *s, const char *remarks, double y)
{
    char line[SHEET_REMARK];
    const struct canvas_type type = remark_type(s);
    double most = k->p->right - k->left[MARK];
    for (const char *next; *remarks; remarks = next) {
        size_t n = page_wrap(remarks, PAGE_SMALL, type.bold, most, &next);
        snprintf(line, sizeof line, "%.*s", (int)n, remarks);
        y += ROW_REMARK;
        canvas_text_within(k->p->canvas, type, k->left[MARK], y, most, line);
    }
}

static double
row_height(const struct stake_sheet *k, const struct job_stake *s)
{
    struct remark remark = { 0 };
    sheet_stake_remarks(k->job, s, &k->p->style, &remark);
    return base_of(k, s) + ROW_SMALL + remarks_height(k, s, remark.text) + PAGE_SMALL * CANVAS_DESCENDER + ROW_BELOW - k->closer;
}

static void
put_words(const struct stake_sheet *k, const struct job_stake *s, double base)
{
    struct words w = words_of(k, s);
    if (name_height(k, s) > 0)
        w.mark = "";
    for (size_t i = 0; i < WORDS; i++) {
        bool order = i == MARK || i == ROD;
        canvas_text_within(k->p->canvas, type_of(s, i), k->left[i], base, k->width[i], i == MARK ? w.mark : w.line[i]);
        if (w.more[i][0])
            canvas_text_within(k->p->canvas, order ? small : pale, k->left[i], base + ROW_SMALL, k->width[i], w.more[i]);
    }
}

static void
put_stake(const struct stake_sheet *k, const struct job_stake *s)
{
    struct pages *p = k->p;
    struct remark remark = { 0 };
    double base = p->top + base_of(k, s), height = row_height(k, s);
    sheet_stake_remarks(k->job, s, &p->style, &remark);
    canvas_group(p->canvas, name_of(k, s), NULL);
    canvas_box(p->canvas, firm, CANVAS_INKS, p->left, p->top + ROW_TOP, BOX, BOX);
    moves_shape(p->canvas, s, k->shape, base - 5, 1);
    if (name_height(k, s) > 0)
        put_name(k, s, p->top);
    put_words(k, s, base);
    canvas_line(p->canvas, firm, k->after, base + 5, p->right, base + 5);
    put_remarks(k, s, remark.text, base + ROW_SMALL + ROW_APART);
    canvas_group_end(p->canvas);
    p->top += height;
    canvas_line(p->canvas, thin, p->left, p->top, p->right, p->top);
}

/* ---- the sheet ---- */

static const struct canvas_type lot_type = { PAGE_HEADING, CANVAS_START, CANVAS_BLACK, false, 0 };

/* The first two of a lot stay together, and the last two: how high row i is, with those that stay with it. */
static double
kept_height(const struct stake_sheet *k, const uint32_t *order, size_t n, size_t i)
{
    double height = row_height(k, &k->job->stake[order[i]]);
    for (; i + 1 < n && (i == 0 || i + 2 == n); i++)
        height += row_height(k, &k->job->stake[order[i + 1]]);
    return height + (i + 1 == n ? k->below : 0);
}

/* The begin of a lot: its heading, those of its columns, and the marks that stay with them. */
static double
begin_height(const struct stake_sheet *k, const uint32_t *order, size_t n)
{
    return 6 + PAGE_HEADING * 1.5 + HEADINGS + kept_height(k, order, n, 0);
}

/* On a page that goes on with a grade, it is said which. */
static int
grade_again(const struct stake_sheet *k, const uint32_t *order)
{
    return pages_grade_again(k->p, &k->job->grade[k->job->stake[order[0]].grade_index]);
}

static int
lot(const struct stake_sheet *k, const uint32_t *order, size_t n)
{
    char words[SHEET_WORDS];
    const char *need = moves_need(k->job->stake[order[0]].verdict);
    int rc = 0;
    if (!pages_room(k->p, begin_height(k, order, n)))
        rc = grade_again(k, order);
    pages_skip(k->p, 6);
    snprintf(words, sizeof words, "%s (%zu)", need, n);
    pages_line(k->p, lot_type, words);
    headings(k);
    snprintf(words, sizeof words, "%s" PAGE_AGAIN, need);
    for (size_t i = 0; rc == 0 && i < n; i++) {
        if (i > 0 && !pages_room(k->p, kept_height(k, order, n, i))) {
            rc = grade_again(k, order);
            pages_line(k->p, lot_type, words);
            headings(k);
        }
        put_stake(k, &k->job->stake[order[i]]);
    }
    return rc;
}

static const struct canvas_type key_type = { PAGE_TEXT, CANVAS_START, CANVAS_BLACK, false, 0 };

#define KEY_LINE (PAGE_TEXT * 1.32)
#define GRADE_APART 14.0 /* points of white above a grade that stands below another */
#define TO_WRITE 20.0 /* points from line to line where something is written by hand */

/* A line that is written on, below others; wrapped where it is very long. */
static double
anew_height(const struct pages *p, const char *anew)
{
    return TO_WRITE + ((double)page_lines(anew, PAGE_TEXT, false, p->right - p->left) - 1) * KEY_LINE;
}

static double
key_height(const struct stake_sheet *k, const uint32_t *order, size_t n, const char *key)
{
    char anew[MOVES_ANEW];
    size_t lines = page_lines(key, PAGE_TEXT, false, k->p->right - k->p->left);
    double height = lines > 0 ? 4 + (double)lines * KEY_LINE : 0;
    for (length above = MOVES_ANEW_FIRST; lines > 0 && moves_anew(anew, k->job, order, n, &k->p->style, &above);)
        height += anew_height(k->p, anew);
    return height;
}

/* Below a grade's marks: which set-ups they name, and how to go on from another one. */
static void
put_key(const struct stake_sheet *k, const uint32_t *order, size_t n, const char *key)
{
    char anew[MOVES_ANEW];
    if (!key[0])
        return;
    pages_skip(k->p, 4);
    pages_line(k->p, key_type, key);
    for (length above = MOVES_ANEW_FIRST; moves_anew(anew, k->job, order, n, &k->p->style, &above);) {
        (void)pages_room(k->p, anew_height(k->p, anew));
        pages_skip(k->p, TO_WRITE - KEY_LINE);
        pages_line(k->p, key_type, anew);
    }
}

/* The grade begins where it has room with the begin of its first lot; another one stands above it. */
static int
put_grade(struct stake_sheet *k, const uint32_t *order, size_t n, bool first)
{
    const struct job_grade *g = &k->job->grade[k->job->stake[order[0]].grade_index];
    if (!first && pages_room(k->p, GRADE_APART + pages_grade_height(k->p, g) + begin_height(k, order, n)))
        pages_skip(k->p, GRADE_APART);
    return pages_grade(k->p, g);
}

/* A grade and all its marks. */
static int
grade(struct stake_sheet *k, const uint32_t *order, size_t n, bool first)
{
    char *key = NULL;
    int rc = moves_setups(k->job, order, n, &k->p->style, &key);
    for (size_t i = 0, of; rc == 0 && i < n && !k->p->canvas->no_memory; i += of) {
        of = moves_lot(k->job, order + i, n - i);
        k->below = i + of == n ? key_height(k, order, n, key) : 0;
        if (i == 0)
            rc = put_grade(k, order, of, first);
        if (rc == 0)
            rc = lot(k, order + i, of);
    }
    if (rc == 0)
        put_key(k, order, n, key);
    free(key);
    return rc;
}

static void
notes(struct pages *p)
{
    for (size_t i = 0; i < MOVES_NOTES; i++)
        pages_line(p, small, moves_note[i]);
    pages_skip(p, 10);
}

static int
grades(struct stake_sheet *k, const uint32_t *order)
{
    const struct job *job = k->job;
    int rc = 0;
    for (size_t i = 0, n; rc == 0 && i < job->stakes; i += n) {
        n = moves_grade(job, order + i, job->stakes - i);
        rc = grade(k, order + i, n, i == 0);
    }
    return rc;
}

/* Marks that the readings cannot tell, and which reading helps most: as the text sheet has it. */
static int
put_advice(struct pages *p)
{
    const struct job *job = p->doc->job;
    struct capture c;
    if (job->advice.doubts == 0)
        return 0;
    int rc = capture_open(&c);
    if (rc == 0) {
        fprintf(c.out, "\nCan't tell, read again: %zu of %zu\n", job->advice.doubts, job->stakes);
        sheet_advice(job, &p->style, c.out);
        rc = capture_close(&c);
    }
    if (rc == 0)
        flow_blocks(p, &c, 0);
    capture_release(&c);
    return rc;
}

/* The whole sheet from its first page on. */
static int
draw(struct stake_sheet *k, const uint32_t *order, double closer)
{
    k->closer = closer;
    pages_turn(k->p, "Stake sheet");
    place_columns(k);
    notes(k->p);
    int rc = grades(k, order);
    return rc == 0 ? put_advice(k->p) : rc;
}

#define NEARLY_EMPTY 200.0  /* points of a page: what stands above the rows, three of them, and what stands below */
#define REDRAWN_PAGES 8     /* of more, one matters little */

/* True where few rows stand on the last page of a few. */
static bool
trails(const struct pages *p)
{
    size_t pages = p->canvas->pages;
    return pages > 1 && pages <= REDRAWN_PAGES && p->top - p->begin <= NEARLY_EMPTY;
}

/* Rows stand closer where that saves a page. */
static int
draw_well(struct stake_sheet *k, const uint32_t *order)
{
    struct pages *p = k->p;
    struct pages_kept before = pages_keep(p);
    int rc = draw(k, order, 0);
    size_t pages = p->canvas->pages;
    if (rc != 0 || p->canvas->no_memory || !trails(p))
        return rc;
    pages_go_back(p, &before);
    rc = draw(k, order, ROW_CLOSER);
    if (rc != 0 || p->canvas->pages < pages)
        return rc;
    pages_go_back(p, &before);
    return draw(k, order, 0);
}

int
figure_stakes(struct pages *p)
{
    struct stake_sheet k = { .p = p, .job = p->doc->job };
    if (k.job->stakes == 0)
        return 0;
    uint32_t *order = malloc(k.job->stakes * sizeof *order);
    int rc = order ? job_walk(k.job, order) : -1;
    rc = rc == 0 ? draw_well(&k, order) : rc;
    free(order);
    return rc;
}
