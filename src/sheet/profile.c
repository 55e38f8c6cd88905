/* profile.c - scales, ticks, symbols and bands of profiles */
#include "profile.h"
#include "moves.h"
#include "scale.h"

#include "rodbook/room.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define TICK_LEAST 14.0    /* points between ticks: their figures keep apart */
#define BELOW 6.0          /* points that the lowest stands above the datum */
#define ABOVE 12.0         /* points free above the highest, for its symbol and a name */
#define TIMES_MOST 50.0    /* exaggeration: beyond it a hand's breadth of ground looks like a cliff */
#define UP_LARGEST 4.0     /* ratio, of heights: 3 in to the foot, and of ISO 5455 1:5; millimetres are told by figures, not drawn */
#define SCALES 50          /* ratios that are tried: far beyond the longest length that a record may have */
#define HEADING_MOST 72.0  /* points that the band's headings may take */
#define CELL_MOST 76.0     /* points that a figure or name in the band may take */
#define APART 5.0          /* points between upright figures */
#define SHAPE 9.0          /* points that the shape of a move takes before its words */
#define LEADING 1.32
#define ROW_LEADING 1.2 /* of the band, whose lines lie between; two profiles go on a page */

static const struct canvas_pen hairline = { 0.4, CANVAS_GREY, CANVAS_SOLID }, dots = { 0.4, CANVAS_GREY, CANVAS_DOTTED },
                               firm = { 1.0, CANVAS_BLACK, CANVAS_SOLID };

/* ---- scales ---- */

/* The i-th step between ticks. */
static length
usual_step(enum length_unit unit, size_t i)
{
    static const length inch[] = { LENGTH_IN / 8, LENGTH_IN / 4, LENGTH_IN / 2, LENGTH_IN, 2 * LENGTH_IN, 3 * LENGTH_IN, 6 * LENGTH_IN };
    size_t n = unit == LENGTH_BARE_FT_IN ? sizeof inch / sizeof inch[0] : 0;
    if (i < n)
        return inch[i];
    length step = unit == LENGTH_BARE_M ? LENGTH_MM : unit == LENGTH_BARE_FT ? LENGTH_FT / 100 : LENGTH_FT;
    for (size_t k = n; k < i; k++)
        step = (k - n) % 3 == 1 ? step / 2 * 5 : step * 2;
    return step;
}

static void
choose_step(struct profile_scale *s, enum length_unit unit)
{
    size_t i = 0;
    while ((double)usual_step(unit, i) * s->y < TICK_LEAST && usual_step(unit, i) < LENGTH_MOST)
        i++;
    s->step = usual_step(unit, i);
    length tenth = length_whole(unit) / 10;
    int places = s->step % tenth == 0 ? 1 : s->step % (tenth / 10) == 0 ? 2 : 3;
    s->tick = unit == LENGTH_BARE_FT_IN ? (struct length_style){ LENGTH_AS_FT_IN, 0, 8 }
                                        : (struct length_style){ unit == LENGTH_BARE_M ? LENGTH_AS_M : LENGTH_AS_FT, places, 0 };
}

length
profile_datum(const struct profile_scale *s, length low)
{
    length below = low - (length)llround(BELOW / s->y), steps = below / s->step;
    return (steps - (below < steps * s->step)) * s->step;
}

double
profile_above(const struct profile_scale *s, length datum, length high)
{
    return (double)(high - datum) * s->y + ABOVE;
}

/* Whatever the datum turns out to be: it is BELOW, or up to a step more, under the lowest. */
static bool
heights_fit(struct profile_scale *s, enum length_unit unit, const struct profile_span *span)
{
    s->y = SCALE_POINTS_A_NM / s->up;
    choose_step(s, unit);
    return profile_above(s, span->low - s->step, span->high) + BELOW <= span->height;
}

static bool
usual_times(double times)
{
    return times >= 1 && times <= TIMES_MOST && fabs(times * 2 - round(times * 2)) < 1e-9;
}

static void
say_scales(struct profile_scale *s, enum length_unit unit)
{
    char along[SHEET_WORDS], up[SHEET_WORDS];
    scale_words(up, unit, s->up);
    scale_words(along, unit, s->along);
    if (s->along == 0)
        snprintf(s->words, sizeof s->words, "heights %s, lengths not to scale", up);
    else if (s->along == s->up)
        snprintf(s->words, sizeof s->words, "scale %s along and up: heights not exaggerated", along);
    else
        snprintf(s->words, sizeof s->words, "scale %s along, %s up: heights %g times", along, up, s->along / s->up);
}

/* The largest scale of heights that goes with the one of lengths. */
static bool
choose_up(struct profile_scale *s, enum length_unit unit, const struct profile_span *span)
{
    for (size_t i = 0; i < SCALES && (!span->to_scale || scale_usual(unit, i) <= s->along); i++) {
        s->up = scale_usual(unit, i);
        if (s->up >= UP_LARGEST && (!span->to_scale || usual_times(s->along / s->up)) && heights_fit(s, unit, span))
            return true;
    }
    return false;
}

/* The i-th ratio along: the usual ones, and in metres 1:25, 1:250 and so on between, which plans have too. */
static double
along_ratio(enum length_unit unit, size_t i)
{
    if (unit != LENGTH_BARE_M)
        return scale_usual(unit, i);
    double ratio = scale_usual(unit, i / 4 * 3 + (i % 4 == 3 ? 2 : i % 4));
    return i % 4 == 2 ? ratio / 2 : ratio;
}

struct profile_scale
profile_scale_choose(enum length_unit unit, const struct profile_span *span)
{
    struct profile_scale s = { 0 };
    double nm = span->along > 0 ? (double)span->along : 1;
    for (size_t k = unit == LENGTH_BARE_M ? 4 : 2; k < SCALES; k++) { /* from 1:10, or 1 in to the foot */
        s.along = along_ratio(unit, k);
        s.x = SCALE_POINTS_A_NM / s.along;
        if ((!span->to_scale || nm * s.x <= span->width) && choose_up(&s, unit, span))
            break; /* else a slope that is steeper than the paper: a smaller scale for both */
    }
    if (!span->to_scale) {
        s.along = 0;
        s.x = span->width / nm;
    }
    say_scales(&s, unit);
    return s;
}

/* ---- one strip ---- */

void
profile_axis(const struct profile_strip *s)
{
    struct canvas *c = s->p->canvas;
    char text[LENGTH_TEXT];
    const struct canvas_type type = { PAGE_SMALL, CANVAS_END, CANVAS_BLACK, false, 0 };
    canvas_line(c, firm, s->left, s->top, s->left, s->base);
    canvas_line(c, firm, s->left, s->base, s->right, s->base);
    for (length at = s->datum; profile_y(s, at) >= s->top + PAGE_SMALL / 2; at += s->scale->step) {
        double y = profile_y(s, at);
        canvas_line(c, firm, s->left - 3, y, s->left, y);
        if (at > s->datum)
            canvas_line(c, dots, s->left, y, s->right, y);
        length_print(text, at, s->scale->tick);
        canvas_text(c, type, s->left - 5, y + PAGE_SMALL * CANVAS_CAPITAL / 2, text);
    }
}

/* ---- symbols ---- */

static void
triangle(struct canvas *c, double x, double y, double h, bool filled)
{
    const struct canvas_place at[3] = { { x, y }, { x - 3.6, y - h }, { x + 3.6, y - h } };
    canvas_path(c, firm, filled ? CANVAS_BLACK : CANVAS_WHITE, true, at, 3);
}

/* A board on two stakes: its upper edge is the batten's elevation. */
static void
batten(struct canvas *c, double x, double y, bool open)
{
    canvas_line(c, firm, x - 3, y, x - 3, y + 8);
    canvas_line(c, firm, x + 3, y, x + 3, y + 8);
    canvas_box(c, (struct canvas_pen){ 0.8, CANVAS_BLACK, CANVAS_SOLID }, open ? CANVAS_WHITE : CANVAS_BLACK, x - 5.5, y, 11, 3);
}

static void
hole(struct canvas *c, double x, double y)
{
    const struct canvas_place at[4] = { { x - 4, y - 7 }, { x - 4, y }, { x + 4, y }, { x + 4, y - 7 } };
    canvas_path(c, (struct canvas_pen){ 1.3, CANVAS_BLACK, CANVAS_SOLID }, CANVAS_INKS, false, at, 4);
}

static void
instrument(struct canvas *c, double x, double y)
{
    canvas_line(c, firm, x, y, x - 4, y + 9);
    canvas_line(c, firm, x, y, x + 4, y + 9);
    canvas_box(c, firm, CANVAS_WHITE, x - 4, y - 2, 8, 4);
}

struct canvas_pen
profile_pen(enum profile_symbol line)
{
    static const struct canvas_pen pens[PROFILE_SYMBOLS] = { [PROFILE_GROUND_LINE] = { 1.5, CANVAS_BLACK, CANVAS_SOLID },
        [PROFILE_STRING_LINE] = { 1.0, CANVAS_BLACK, CANVAS_SOLID }, [PROFILE_GRADE_LINE] = { 0.7, CANVAS_UP, CANVAS_CHAIN },
        [PROFILE_GRADE_LINE + 1] = { 0.7, CANVAS_DOWN, CANVAS_DASHED }, [PROFILE_GRADE_LINE + 2] = { 0.7, CANVAS_ALERT, CANVAS_DOTTED },
        [PROFILE_GRADE_LAST] = { 0.8, CANVAS_GREY, CANVAS_DASHED }, [PROFILE_ROD] = { 1.0, CANVAS_GREY, CANVAS_SOLID },
        [PROFILE_SIGHT_LINE] = { 0.8, CANVAS_BLACK, CANVAS_DASHED }, [PROFILE_DROP_LINE] = { 0.4, CANVAS_GREY, CANVAS_DOTTED } };
    return pens[line];
}

void
profile_symbol(struct canvas *c, enum profile_symbol symbol, double x, double y, bool open)
{
    enum canvas_ink fill = open ? CANVAS_WHITE : CANVAS_BLACK;
    switch (symbol) {
    case PROFILE_MARK:
        triangle(c, x, y, 6.5, false);
        break;
    case PROFILE_POST:
        triangle(c, x, y, 6.5, !open);
        break;
    case PROFILE_BENCHMARK:
        canvas_box(c, firm, fill, x - 3.4, y - 3.4, 6.8, 6.8);
        break;
    case PROFILE_BATTEN:
        batten(c, x, y, open);
        break;
    case PROFILE_GROUND:
        canvas_circle(c, firm, fill, x, y, 1.8);
        break;
    case PROFILE_HOLE:
        hole(c, x, y);
        break;
    case PROFILE_TOP:
        canvas_line(c, (struct canvas_pen){ 2.2, CANVAS_BLACK, open ? CANVAS_DOTTED : CANVAS_SOLID }, x - 4.5, y, x + 4.5, y);
        break;
    case PROFILE_TURN:
        canvas_circle(c, firm, fill, x, y, 2.6);
        break;
    case PROFILE_SIDE:
        canvas_circle(c, (struct canvas_pen){ 0.8, CANVAS_BLACK, CANVAS_SOLID }, CANVAS_WHITE, x, y, 1.7);
        break;
    case PROFILE_INSTRUMENT:
        instrument(c, x, y);
        break;
    case PROFILE_ROD:
        canvas_line(c, profile_pen(symbol), x, y - 5, x, y + 5);
        break;
    case PROFILE_GROUND_LINE:
        canvas_line(c, profile_pen(symbol), x - 12, y, x + 4, y);
        canvas_circle(c, firm, fill, x - 4, y, 1.8);
        break;
    default:
        canvas_line(c, profile_pen(symbol), x - 12, y, x + 4, y);
        break;
    }
}

/* As the rows of the band follow each other. */
static const uint8_t legend_order[] = { PROFILE_BATTEN, PROFILE_STRING_LINE, PROFILE_POST, PROFILE_TOP, PROFILE_MARK, PROFILE_GROUND,
    PROFILE_GROUND_LINE, PROFILE_HOLE, PROFILE_GRADE_LINE, PROFILE_GRADE_LINE + 1, PROFILE_GRADE_LINE + 2, PROFILE_GRADE_LAST, PROFILE_BENCHMARK,
    PROFILE_TURN, PROFILE_INSTRUMENT, PROFILE_SIGHT_LINE, PROFILE_ROD, PROFILE_SIDE, PROFILE_DROP_LINE };

double
profile_legend(struct pages *p, unsigned used, const char *const words[PROFILE_SYMBOLS], bool draw)
{
    double x = p->left, y = 0;
    for (size_t k = 0; k < sizeof legend_order / sizeof legend_order[0]; k++) {
        unsigned i = legend_order[k];
        double symbol = i >= PROFILE_GROUND_LINE ? 24 : 18;
        char text[SHEET_WORDS * 2];
        double width = profile_fit(text, sizeof text, words[i] ? words[i] : "", PAGE_SMALL, false, 160);
        if (!(used & (1u << i)))
            continue;
        if (x > p->left && x + symbol + width > p->right) {
            x = p->left;
            y += 14;
        }
        double middle = p->top + y + 7;
        if (draw) {
            double drop = i == PROFILE_BATTEN || i == PROFILE_INSTRUMENT ? -4 : i == PROFILE_HOLE || i == PROFILE_MARK || i == PROFILE_POST ? 3 : 0;
            profile_symbol(p->canvas, (enum profile_symbol)i, x + symbol - 10, middle + drop, false);
            canvas_text_within(p->canvas, (struct canvas_type){ PAGE_SMALL, CANVAS_START, CANVAS_BLACK, false, 0 }, x + symbol,
                middle + PAGE_SMALL * CANVAS_CAPITAL / 2, width, text);
        }
        x += symbol + width + 10;
    }
    return y + 14;
}

/* ---- texts that fit ---- */

#define TAIL 8 /* letters: marks of one kind differ in their last ones */

static bool
begins_letter(char c)
{
    return ((unsigned char)c & 0xc0) != 0x80;
}

double
profile_fit(char *out, size_t room, const char *text, double size, bool bold, double most)
{
    size_t n = strlen(text), tail = n;
    for (int letters = 0; tail > 0 && letters < TAIL; tail--)
        letters += begins_letter(text[tail - 1]);
    bool fits = n < room && canvas_text_width(text, size, bold) <= most / PAGE_NARROWEST;
    snprintf(out, room, "%s", fits ? text : "");
    for (n = tail; !fits; n--) {
        if (n > 0 && !begins_letter(text[n]))
            continue;
        snprintf(out, room, "%.*s...%s", (int)n, text, text + tail);
        fits = n == 0 || canvas_text_width(out, size, bold) <= most / PAGE_NARROWEST;
    }
    return fmin(most, canvas_text_width(out, size, bold));
}

/* ---- the band ---- */

int
profile_band_open(struct profile_band *b, size_t columns)
{
    *b = (struct profile_band){ .columns = columns };
    b->cell = room_new(columns * PROFILE_BAND_ROWS, sizeof *b->cell);
    b->at = room_new(columns, sizeof *b->at);
    b->x = room_new(columns, sizeof *b->x);
    return b->cell && b->at && b->x ? 0 : -1;
}

void
profile_band_release(struct profile_band *b)
{
    free(b->cell);
    free(b->at);
    free(b->x);
    *b = (struct profile_band){ 0 };
}

size_t
profile_band_row(struct profile_band *b, const char *heading)
{
    double width = profile_fit(b->heading[b->rows], sizeof b->heading[b->rows], heading, PAGE_SMALL, false, HEADING_MOST);
    b->gutter = fmax(b->gutter, width + 6);
    return b->rows++;
}

static struct profile_cell *
cell_of(const struct profile_band *b, size_t row, size_t column)
{
    return &b->cell[row * b->columns + column];
}

void
profile_band_set(struct profile_band *b, size_t row, size_t column, const char *text)
{
    struct profile_cell *cell = cell_of(b, row, column);
    (void)profile_fit(cell->text, sizeof cell->text, text, PAGE_SMALL, row == 0, CELL_MOST);
}

void
profile_band_move(struct profile_band *b, size_t row, size_t column, const struct job_stake *stake, const struct sheet_style *style)
{
    char words[SHEET_WORDS];
    moves_words(words, stake, style);
    profile_band_set(b, row, column, words);
    cell_of(b, row, column)->stake = stake;
}

size_t
profile_band_most(double width)
{
    return (size_t)floor(width / PROFILE_COLUMN);
}

/* Half of what a column takes along, in the way the band is set. */
static double
half_column(const struct profile_band *b, size_t column)
{
    double most = 0;
    if (b->turned)
        return PROFILE_COLUMN / 2;
    for (size_t r = 0; r < b->rows; r++)
        most = fmax(most, cell_of(b, r, column)->width);
    return most / 2 + APART / 2;
}

static void
measure(struct profile_band *b)
{
    for (size_t r = 0; r < b->rows; r++)
        for (size_t k = 0; k < b->columns; k++) {
            struct profile_cell *cell = cell_of(b, r, k);
            cell->width = fmin(CELL_MOST, canvas_text_width(cell->text, b->size, r == 0)) + (cell->stake ? SHAPE : 0);
        }
}

/* A stretch of columns pushed together: of the places, less what stands before each in it, the mean. */
struct pool {
    double sum;
    size_t first, n;
};

/* Columns pushed apart as little as can be, between two limits. False where there is no room. */
static bool
spread(struct profile_band *b, double left, double right)
{
    struct pool *pool = room_new(b->columns, sizeof *pool);
    double *before = room_new(b->columns, sizeof *before);
    size_t pools = 0;
    bool fits = pool && before;
    for (size_t i = 1; fits && i < b->columns; i++)
        before[i] = before[i - 1] + half_column(b, i - 1) + half_column(b, i);
    double low = left, high = right;
    if (fits && b->columns > 0) {
        low += half_column(b, 0) - APART / 2;
        high -= half_column(b, b->columns - 1) - APART / 2 + before[b->columns - 1];
        fits = low <= high + 1e-6;
    }
    for (size_t i = 0; fits && i < b->columns; i++) {
        pool[pools++] = (struct pool){ b->at[i] - before[i], i, 1 };
        while (pools > 1 && pool[pools - 2].sum / (double)pool[pools - 2].n > pool[pools - 1].sum / (double)pool[pools - 1].n) {
            pool[pools - 2].sum += pool[pools - 1].sum;
            pool[pools - 2].n += pool[pools - 1].n;
            pools--;
        }
    }
    for (size_t k = 0; fits && k < pools; k++)
        for (size_t i = pool[k].first; i < pool[k].first + pool[k].n; i++)
            b->x[i] = fmax(low, fmin(high, pool[k].sum / (double)pool[k].n)) + before[i];
    free(pool);
    free(before);
    return fits;
}

void
profile_band_plan(struct profile_band *b, double left, double right)
{
    static const struct {
        double size;
        bool turned;
    } ways[] = { { PAGE_TEXT, false }, { PAGE_SMALL, false }, { PAGE_SMALL, true } };
    bool fits = false;
    for (size_t i = 0; !fits && i < sizeof ways / sizeof ways[0]; i++) {
        b->size = ways[i].size;
        b->turned = ways[i].turned;
        measure(b);
        fits = spread(b, left, right);
    }
    b->height = 0;
    for (size_t r = 0; r < b->rows; r++) {
        double most = 0;
        for (size_t k = 0; k < b->columns; k++)
            most = fmax(most, cell_of(b, r, k)->width);
        b->row[r] = b->turned ? fmax(most + 5, PAGE_SMALL * LEADING + 2) : b->size * ROW_LEADING + 1.2;
        b->height += b->row[r];
    }
}

#define MOVE_SHAPE 0.42 /* of the shape of a move in the band */

static void
draw_cell(const struct profile_band *b, const struct pages *p, size_t row, size_t column, double top)
{
    const struct profile_cell *cell = cell_of(b, row, column);
    double middle = top + b->row[row] / 2, rise = b->size * CANVAS_CAPITAL / 2, shape = cell->stake ? SHAPE / 2 : 0;
    struct canvas_type type = { b->size, CANVAS_MIDDLE, cell->stake ? moves_ink(cell->stake) : CANVAS_BLACK, row == 0, b->turned ? -90 : 0 };
    if (!cell->text[0])
        return;
    if (b->turned)
        canvas_text_within(p->canvas, type, b->x[column] + rise, middle - shape, CELL_MOST, cell->text);
    else
        canvas_text_within(p->canvas, type, b->x[column] + shape, middle + rise, CELL_MOST, cell->text);
    double begin = cell->width / 2 - SHAPE / 2 + 1; /* of the shape, from the middle of the cell */
    if (cell->stake)
        moves_shape(p->canvas, cell->stake, b->turned ? b->x[column] : b->x[column] - begin, b->turned ? middle + begin : middle, MOVE_SHAPE);
}

static bool
is_empty(const struct profile_band *b, size_t column)
{
    for (size_t r = 0; r < b->rows; r++)
        if (cell_of(b, r, column)->text[0])
            return false;
    return true;
}

void
profile_band_draw(const struct profile_band *b, const struct pages *p, double base, double top, double right)
{
    const struct canvas_type type = { PAGE_SMALL, CANVAS_START, CANVAS_GREY, false, 0 };
    for (size_t k = 0; k < b->columns; k++) {
        if (is_empty(b, k))
            continue;
        const struct canvas_place lead[3] = { { b->at[k], base }, { b->x[k], top - 3 }, { b->x[k], top } };
        canvas_path(p->canvas, hairline, CANVAS_INKS, false, lead, 3);
    }
    for (size_t r = 0; r < b->rows; r++) {
        canvas_line(p->canvas, hairline, p->left, top, right, top);
        canvas_text_within(p->canvas, type, p->left, top + b->row[r] / 2 + PAGE_SMALL * CANVAS_CAPITAL / 2, HEADING_MOST, b->heading[r]);
        for (size_t k = 0; k < b->columns; k++)
            draw_cell(b, p, r, k, top);
        top += b->row[r];
    }
    canvas_line(p->canvas, hairline, p->left, top, right, top);
}

/* ---- names in the drawing ---- */

void
profile_boxes_release(struct profile_boxes *b)
{
    free(b->box);
    *b = (struct profile_boxes){ .no_memory = b->no_memory };
}

void
profile_boxes_take(struct profile_boxes *b, double left, double top, double right, double bottom)
{
    struct profile_box *box = room_for(b->box, &b->room, b->n, sizeof *box);
    b->no_memory |= !box;
    if (!box)
        return;
    b->box = box;
    box[b->n++] = (struct profile_box){ left, top, right, bottom };
}

bool
profile_boxes_meet(struct profile_box a, struct profile_box b)
{
    return a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom;
}

bool
profile_boxes_free(const struct profile_boxes *b, struct profile_box a)
{
    const struct profile_box *w = &b->within;
    if (a.left < w->left || a.right > w->right || a.top < w->top || a.bottom > w->bottom)
        return false;
    for (size_t i = 0; i < b->n; i++)
        if (profile_boxes_meet(a, b->box[i]))
            return false;
    return true;
}

bool
profile_name_at(struct canvas *c, struct profile_boxes *b, double x, double base, double width, const char *text)
{
    struct profile_box box = { x - 1, base - PAGE_SMALL * CANVAS_CAPITAL - 0.5, x + width + 1, base + PAGE_SMALL * CANVAS_DESCENDER };
    if (!profile_boxes_free(b, box))
        return false;
    profile_boxes_take(b, box.left, box.top, box.right, box.bottom);
    canvas_box(c, (struct canvas_pen){ 0, CANVAS_BLACK, CANVAS_SOLID }, CANVAS_WHITE, box.left + 0.5, box.top, box.right - box.left - 1, box.bottom - box.top);
    canvas_text_within(c, (struct canvas_type){ PAGE_SMALL, CANVAS_START, CANVAS_BLACK, false, 0 }, x, base, width, text);
    return true;
}

#define NAME_LEVEL 8.5 /* points from a line of names to a second one */

bool
profile_name(struct canvas *c, struct profile_boxes *b, double x, double y, double reach, const char *text)
{
    char shown[SHEET_WORDS * 2];
    double width = profile_fit(shown, sizeof shown, text, PAGE_SMALL, false, CELL_MOST), up = PAGE_SMALL * CANVAS_CAPITAL;
    if (profile_name_at(c, b, x + reach + 1, y + up / 2, width, shown) || profile_name_at(c, b, x - reach - 1 - width, y + up / 2, width, shown))
        return true;
    const double begin[] = { x - width / 2, x - reach, x + reach - width };
    for (int level = 0; level < 2; level++)
        for (size_t i = 0; i < sizeof begin / sizeof begin[0]; i++) {
            double off = reach + 1.5 + level * NAME_LEVEL;
            if (profile_name_at(c, b, begin[i], y - off, width, shown) || profile_name_at(c, b, begin[i], y + off + up, width, shown))
                return true;
        }
    return false;
}
