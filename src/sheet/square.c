/* square.c - what was taped: frames, triangles, single lengths, and the stakes to move */
#include "parts.h"

#include "capture.h"

#include "rodbook/quantity.h"
#include "rodbook/square.h"

#include <inttypes.h>
#include <math.h>
#include <string.h>

#define DEGREES 57.29577951308232 /* in a radian: 180 / pi */

struct sheet {
    const struct square *s;
    struct sheet_style style; /* moves to 1/16 in and finer */
    bool metric;
    FILE *out;
};

/* ---- words ---- */

/* A sentence behind two blanks. */
__attribute__((format(printf, 2, 3))) static void
say_of(const struct sheet *t, const char *format, ...)
{
    va_list list;
    va_start(list, format);
    tell_list(t->out, "  ", "  ", format, list);
    va_end(list);
}

static length
nm(double m)
{
    return (length)llround(m * (double)LENGTH_M);
}

static const char *
name(const struct sheet *t, uint32_t at)
{
    return names_text(&t->s->r->names, at);
}

struct words {
    char text[3 * SHEET_WORDS];
};

static struct words
size_words(const struct sheet *t, double m)
{
    struct words w = { "" };
    sheet_size_words(w.text, nm(m), &t->style);
    return w;
}

/* With its decimals where a tolerance is stated finely. */
static struct words
tolerance_words(const struct sheet *t, double m)
{
    struct words w = { "" };
    struct sheet_style fine = t->style;
    fine.move.parts = 64;
    fine.move.places = nm(m) % LENGTH_MM ? 1 : 0;
    sheet_size_words(w.text, nm(m), &fine);
    return w;
}

static struct words
sure_words(const struct sheet *t, double sigma)
{
    struct words w = { "" };
    sheet_sure_words(w.text, sigma, &t->style);
    return w;
}

static struct words
length_words(const struct sheet *t, double m)
{
    struct words w = { "" };
    char text[LENGTH_TEXT];
    length_print(text, nm(m), t->style.adjusted);
    snprintf(w.text, sizeof w.text, "%s%s", text,
        t->style.adjusted.form == LENGTH_AS_FT ? " ft" : t->style.adjusted.form == LENGTH_AS_M ? " m" : "");
    return w;
}

/* "long 1/4 in", "short 3 mm", "as wanted" */
static struct words
off_words(const struct sheet *t, double off, const char *over, const char *under)
{
    struct words w = { "" };
    char text[LENGTH_TEXT];
    length_print(text, nm(off), t->style.move);
    if (!strpbrk(text, "123456789"))
        snprintf(w.text, sizeof w.text, "-");
    else
        snprintf(w.text, sizeof w.text, "%s %.95s", off > 0 ? over : under, size_words(t, off).text);
    return w;
}

/* 89 deg 24.2 min */
static struct words
angle_words(double radians)
{
    struct words w = { "" };
    double minutes = round(radians * DEGREES * 600) / 10;
    double whole = floor(minutes / 60);
    snprintf(w.text, sizeof w.text, "%.0f deg %04.1f min", whole, minutes - 60 * whole);
    return w;
}

static void
number_cell(struct table *table, const char *format, double v)
{
    char text[32];
    snprintf(text, sizeof text, format, v); // NOLINT: the formats stand in this file
    table_cell(table, text);
}

static void
length_cell(const struct sheet *t, struct table *table, bool known, double m)
{
    if (known)
        table_length(table, nm(m), t->style.adjusted);
    else
        table_cell(table, "-");
}

static void
signed_cell(const struct sheet *t, struct table *table, bool known, double m)
{
    char text[LENGTH_TEXT + 1];
    struct length_style fine = t->style.adjusted;
    fine.places++;
    fine.parts = fine.parts < 64 ? 2 * fine.parts : 64;
    signed_length(text, nm(m), fine);
    table_cell(table, known ? text : NULL);
}

static void
sigma_cell(const struct sheet *t, struct table *table, bool known, double sigma)
{
    char words[SHEET_WORDS];
    sheet_sigma_words(words, known ? sigma : -1, &t->style);
    table_cell(table, words);
}

static void
pair_cell(const struct sheet *t, struct table *table, uint32_t a, uint32_t b)
{
    char text[2 * SHEET_WORDS];
    snprintf(text, sizeof text, "%s to %s", name(t, a), name(t, b));
    table_cell(table, text);
}

static void
row_cell(const struct sheet *t, struct table *table, const struct record_taped *row)
{
    char text[SHEET_WORDS];
    snprintf(text, sizeof text, "%" PRIu32 ".%" PRIu32, t->s->r->tape[row->tape].entry + 1, row->number);
    table_cell(table, text);
}

static const struct square_length *
length_at(const struct sheet *t, const struct square_figure *f, uint32_t i)
{
    return &t->s->length[f->first_length + i];
}

/* ---- heading ---- */

static void
heading(const struct sheet *t, const struct square_figure *f)
{
    static const char *const shapes[] = { "Frame", "Triangle", "Length" }; /* enum square_shape */
    const struct record *r = t->s->r;
    const struct record_tape *tape = &r->tape[f->tape];
    fprintf(t->out, "\n%s", shapes[f->shape]);
    for (unsigned k = 0; k < f->corners; k++)
        fprintf(t->out, " %s", name(t, f->corner[k].name));
    fprintf(t->out, ", entry %" PRIu32, tape->entry + 1);
    if (tape->date != RECORD_NONE)
        fprintf(t->out, ", %s", names_text(&r->texts, tape->date));
    if (tape->tape != RECORD_NONE)
        fprintf(t->out, ", tape %s", names_text(&r->texts, tape->tape));
    if (tape->crew != RECORD_NONE)
        fprintf(t->out, ", %s", names_text(&r->texts, tape->crew));
    if (f->position > 1)
        fprintf(t->out, "; position %" PRIu32, f->position);
    fputc('\n', t->out);
}

/* What the published tolerance of squareness says, in the job's units. */
static struct words
square_words(const struct sheet *t, const struct square_figure *f)
{
    struct words w = { "" };
    snprintf(w.text, sizeof w.text, " the %s to %s, here ", f->shape == SQUARE_FRAME ? "diagonals alike" : "side across the square corner",
        t->metric ? "6.25 mm in 10 m" : "3/4 in per 100 ft");
    return w;
}

static void
tolerance_line(const struct sheet *t, const struct square_figure *f)
{
    bool square = f->square > 0, lengths = false;
    for (uint32_t i = 0; i < f->lengths; i++)
        lengths |= length_at(t, f, i)->tolerance > 0;
    if (!square && !lengths)
        return;
    if (f->has_tolerance) {
        say_of(t, "Near enough: closer than %s, as stated%s.", tolerance_words(t, (double)t->s->r->tape[f->tape].tolerance / (double)LENGTH_M).text,
            f->shape == SQUARE_FRAME ? "; so too the difference of the diagonals" : "");
        return;
    }
    say_of(t, "Near enough: none is stated, so as published:%s%s%s%s (Ballast, Handbook of Construction Tolerances).",
        !lengths ? "" : t->metric ? " 3.2 mm under 3 m, 6.4 mm to 30 m" : " 1/8 in under 10 ft, 1/4 in to 100 ft", square && lengths ? ";" : "",
        square ? square_words(t, f).text : "", square ? tolerance_words(t, f->square).text : "");
}

static void
basis(const struct sheet *t, const struct square_figure *f)
{
    if (f->shape == SQUARE_FRAME && f->fitted)
        say_of(t, "Base line %s to %s: %s and its direction are held.", name(t, f->corner[0].name), name(t, f->corner[1].name),
            name(t, f->corner[0].name));
    say_of(t, "One taped length: +- %s%s.", sure_words(t, f->sigma).text, f->has_sigma ? "" : ", for none is stated (common practice, no source)");
    if (f->guessed)
        say_of(t, "Neither places nor corners say which lengths are sides: %s",
            f->taped == 6 ? "the longest two that meet no point in common are taken for the diagonals."
                          : "the one that was not taped is taken for a diagonal.");
    if (f->bad_places)
        say_of(t, "The places of these points go round no convex figure in this order: it is held against nothing.");
    tolerance_line(t, f);
}

/* ---- tables ---- */

static const char *
sigma_heading(const struct sheet *t)
{
    return t->metric ? "+- mm" : "+- in";
}

static const char *
verdict_remark(enum square_verdict v)
{
    static const char *const words[] = { NULL, NULL, "can't tell", "OUTSIDE" }; /* enum square_verdict */
    return words[v];
}

static void
length_row(const struct sheet *t, const struct square_figure *f, uint32_t i, struct table *table)
{
    const struct square_length *l = length_at(t, f, i);
    bool diagonal = f->shape == SQUARE_FRAME && i > SITE_FRAME_LEFT, held = l->intended && l->known && f->state != SQUARE_MISFIT;
    struct remark remark = { 0 };
    struct sheet fine = *t; /* as finely as the lengths beside it are printed, so that they agree */
    char taped[24];
    if (t->style.adjusted.form == LENGTH_AS_FT_IN)
        fine.style.move.parts = t->style.adjusted.parts;
    put_count(taped, l->count);
    pair_cell(t, table, l->a, l->b);
    table_cell(table, taped);
    length_cell(t, table, l->count > 0, l->read);
    signed_cell(t, table, l->count > 0 && fabs(l->correction) > 0, l->correction);
    length_cell(t, table, l->known, l->adjusted);
    sigma_cell(t, table, l->known, l->sigma);
    if (l->intended)
        length_cell(t, table, true, l->intent);
    else
        table_cell(table, NULL);
    table_cell(table, held ? off_words(&fine, l->adjusted - l->intent, "long", "short").text : NULL);
    if (l->count == 0)
        remark_add(&remark, l->known ? "not taped; from the others" : "not taped");
    if (l->count > 1)
        remark_add(&remark, "%s apart", size_words(t, l->apart).text);
    if (verdict_remark(l->verdict))
        remark_add(&remark, "%s", verdict_remark(l->verdict));
    if (held && !diagonal && l->verdict == SQUARE_NOT_JUDGED)
        remark_add(&remark, "not judged");
    table_cell(table, remark.text);
}

static int
lengths_table(const struct sheet *t, const struct square_figure *f)
{
    const struct table_column columns[] = { { "length", false, false }, { "taped", true, false }, { "read", true, false },
        { "correction", true, false }, { f->redundancy > 0 && f->fitted ? "adjusted" : "is", true, false }, { sigma_heading(t), true, false },
        { "intended", true, false }, { "off", false, false }, { "remarks", false, false } };
    struct table table;
    table_open(&table, columns, sizeof columns / sizeof columns[0]);
    for (uint32_t i = 0; i < f->lengths; i++)
        length_row(t, f, i, &table);
    return table_print(&table, t->out);
}

static bool
is_corrected(const struct square_reading *reading)
{
    const struct site_tape_corrections *c = &reading->c;
    return fabs(c->length) > 0 || fabs(c->temp) > 0 || fabs(c->pull) > 0 || fabs(c->sag) > 0 || fabs(c->slope) > 0;
}

/* A correction of nothing is not printed: it was not known, or there was none. */
static void
correction_cell(const struct sheet *t, struct table *table, double c)
{
    char text[LENGTH_TEXT + 1];
    struct length_style as = { t->metric ? LENGTH_AS_M : LENGTH_AS_FT, t->metric ? 5 : 4, 0 };
    signed_length(text, nm(c), as);
    table_cell(table, fabs(c) > 0 ? text : NULL);
}

static void
normal_pull_line(const struct sheet *t, const struct square_figure *f)
{
    const struct record_tape *tape = &t->s->r->tape[f->tape];
    double pull;
    if (!square_normal_pull(tape, &pull))
        return;
    if (t->metric)
        say_of(t, "Normal tension, at which stretch makes good the sag of the whole tape in one span: %.0f N.", pull);
    else
        say_of(t, "Normal tension, at which stretch makes good the sag of the whole tape in one span: %.1f lb.",
            pull / (QUANTITY_POUND * QUANTITY_GRAVITY));
}

static int
corrections_table(const struct sheet *t, const struct square_figure *f)
{
    const struct table_column columns[] = { { "row", false, false }, { "length", false, false }, { "read", true, false }, { "tape", true, false },
        { "warmth", true, false }, { "pull", true, false }, { "sag", true, false }, { "slope", true, false }, { "corrected", true, false } };
    struct table table;
    table_open(&table, columns, sizeof columns / sizeof columns[0]);
    for (uint32_t i = 0; i < f->lengths; i++) {
        const struct square_length *l = length_at(t, f, i);
        for (uint32_t k = 0; k < l->count; k++) {
            const struct square_reading *reading = &t->s->reading[l->first + k];
            if (!is_corrected(reading))
                continue;
            row_cell(t, &table, reading->row);
            pair_cell(t, &table, l->a, l->b);
            table_length(&table, reading->row->read, t->style.adjusted);
            correction_cell(t, &table, reading->c.length);
            correction_cell(t, &table, reading->c.temp);
            correction_cell(t, &table, reading->c.pull);
            correction_cell(t, &table, reading->c.sag);
            correction_cell(t, &table, reading->c.slope);
            length_cell(t, &table, true, reading->c.corrected);
        }
    }
    if (table.cells == 0)
        return table.no_memory ? -1 : 0;
    fprintf(t->out, "\nCorrections to what was read, in %s\n", t->metric ? "metres" : "decimal feet");
    int rc = table_print(&table, t->out);
    for (uint32_t i = 0; i < f->lengths; i++)
        if (length_at(t, f, i)->lay_out > 0)
            say_of(t, "To lay out %s from %s to %s in the same way, the tape shows %s.", length_words(t, length_at(t, f, i)->intent).text,
                name(t, length_at(t, f, i)->a), name(t, length_at(t, f, i)->b), length_words(t, length_at(t, f, i)->lay_out).text);
    normal_pull_line(t, f);
    return rc;
}

/* A mistake of whole feet, or of decimetres, is worth a word: those are the figures that are misread. */
static void
whole_remark(const struct sheet *t, const struct square_reading *reading, struct remark *remark)
{
    double unit = t->metric ? 0.1 : QUANTITY_FOOT, times = round(reading->off / unit);
    if (fabs(times) >= 1 && fabs(reading->off - times * unit) <= 3 * reading->off_sigma && fabs(times) < 1000)
        remark_add(remark, t->metric ? "%.0f dm?" : "%.0f ft?", fabs(times));
}

static int
tests_table(const struct sheet *t, const struct square_figure *f)
{
    bool misfit = f->state == SQUARE_MISFIT, inches = t->style.adjusted.form == LENGTH_AS_FT_IN;
    const struct table_column columns[] = { { "row", false, false }, { "length", false, false }, { "corrected", true, false },
        { inches ? "residual, in" : "residual", true, false }, { "test", true, false }, { "redundancy", true, false }, { misfit ? NULL : "finds from", true, false },
        { misfit ? "it alone" : NULL, false, false }, { "remarks", false, false } };
    struct table table;
    table_open(&table, columns, sizeof columns / sizeof columns[0]);
    for (uint32_t i = 0; i < f->lengths; i++) {
        const struct square_length *l = length_at(t, f, i);
        for (uint32_t k = 0; k < l->count; k++) {
            const struct square_reading *reading = &t->s->reading[l->first + k];
            struct remark remark = { 0 };
            bool tested = reading->fit.redundancy > 0;
            row_cell(t, &table, reading->row);
            pair_cell(t, &table, l->a, l->b);
            length_cell(t, &table, true, reading->c.corrected);
            if (inches) /* smaller than any fraction of a tape */
                number_cell(&table, "%+.3f", reading->fit.residual / QUANTITY_FOOT * 12);
            else
                signed_cell(t, &table, true, reading->fit.residual);
            if (tested)
                number_cell(&table, "%.2f", reading->fit.normalised);
            else
                table_cell(&table, "-");
            number_cell(&table, "%.3f", reading->fit.redundancy);
            table_cell(&table, misfit ? NULL : tested ? size_words(t, reading->detectable).text : "-");
            table_cell(&table, misfit && tested && reading->suspect ? off_words(t, reading->off, "long", "short").text : NULL);
            if (misfit && tested && reading->suspect)
                whole_remark(t, reading, &remark);
            if (f->located && reading->suspect)
                remark_add(&remark, "THIS ONE");
            if (reading->row->note != RECORD_NONE)
                remark_add(&remark, "%s", names_text(&t->s->r->texts, reading->row->note));
            table_cell(&table, remark.text);
        }
    }
    fprintf(t->out, "\nEach reading against the others%s\n", misfit ? "; it alone: how far off it is if all others are right" : "");
    return table_print(&table, t->out);
}

/* Of a frame; a triangle has none. */
static void
coordinate_cells(const struct sheet *t, struct table *table, bool known, double v, double sigma)
{
    if (known)
        length_cell(t, table, true, v);
    else
        table_cell(table, NULL);
    sigma_cell(t, table, known, sigma);
}

static int
corners_table(const struct sheet *t, const struct square_figure *f)
{
    const struct table_column columns[] = { { "corner", false, false }, { "x", true, false }, { sigma_heading(t), true, false },
        { "y", true, false }, { sigma_heading(t), true, false }, { "angle", true, false }, { "+- min", true, false },
        { "out", false, false }, { "over", true, false }, { sigma_heading(t), true, false } };
    struct table table;
    bool frame = f->shape == SQUARE_FRAME;
    table_open(&table, columns, sizeof columns / sizeof columns[0]);
    for (unsigned k = 0; k < f->corners; k++) {
        const struct square_corner *c = &f->corner[k];
        bool out = frame ? f->intended : k == f->square_at;
        table_cell(&table, name(t, c->name));
        coordinate_cells(t, &table, frame, c->x, c->sigma_x);
        coordinate_cells(t, &table, frame, c->y, c->sigma_y);
        table_cell(&table, angle_words(c->angle).text);
        number_cell(&table, "%.1f", c->angle_sigma * DEGREES * 60);
        table_cell(&table, out ? off_words(t, c->out, "open", "closed").text : NULL);
        if (out)
            length_cell(t, &table, true, c->over);
        else
            table_cell(&table, NULL);
        sigma_cell(t, &table, out, c->out_sigma);
    }
    fprintf(t->out, "\nCorners%s\n", frame ? f->intended ? ", in x and y of the points; +- along the base line and square to it"
                                                        : ", from the first and along the base line"
                                          : "");
    return table_print(&table, t->out);
}

/* ---- frames ---- */

/* Standard deviation, m^2, of the diagonals' squares less the sides': each is 2 length times that of the length as read. */
static double
squares_doubt(const struct sheet *t, const struct square_figure *f)
{
    double sum = 0;
    for (uint32_t i = 0; i < f->lengths; i++) {
        const struct square_length *l = length_at(t, f, i);
        sum += l->count > 0 ? l->mean * l->mean / l->count : 0;
    }
    return 2 * f->sigma * sqrt(sum);
}

static void
diagonals_line(const struct sheet *t, const struct square_figure *f)
{
    const struct square_length *first = length_at(t, f, SITE_FRAME_FIRST), *other = length_at(t, f, SITE_FRAME_OTHER);
    const struct square_length *longer = first->adjusted >= other->adjusted ? first : other;
    double unit = t->metric ? 1 : QUANTITY_FOOT;
    const char *area = t->metric ? "m2" : "ft2";
    struct remark line = { 0 };
    bool misfit = f->state == SQUARE_MISFIT;
    struct words off = off_words(t, fabs(first->adjusted - other->adjusted), "", "");
    if (off.text[0] == '-')
        remark_add(&line, "Diagonals: alike, +- %s", sure_words(t, f->difference_sigma).text);
    else
        remark_add(&line, "Diagonals: %s to %s is the longer by%s +- %s", name(t, longer->a), name(t, longer->b), off.text,
            sure_words(t, f->difference_sigma).text);
    if (first->intended && f->intent.rectangle)
        remark_add(&line, "both are to be %s, the root of %s squared and %s squared", length_words(t, first->intent).text,
            length_words(t, length_at(t, f, SITE_FRAME_BASE)->intent).text, length_words(t, length_at(t, f, SITE_FRAME_LEFT)->intent).text);
    if (f->square_verdict != SQUARE_NOT_JUDGED)
        remark_add(&line, "%s", f->square_verdict == SQUARE_LEAVE ? "alike enough" : verdict_remark(f->square_verdict));
    if (!misfit)
        say_of(t, "%s.", line.text);
    if (f->sides2 > 0)
        say_of(t, "To check by hand, from what was read: the squares of the two diagonals add up to %.2f %s, those of the four sides to %.2f. "
               "In any parallelogram they are the same; here they are %.2f apart, +- %.2f by the tape's doubt, and sliding does not change that.",
            f->diagonals2 / (unit * unit), area, f->sides2 / (unit * unit), fabs(f->diagonals2 - f->sides2) / (unit * unit),
            squares_doubt(t, f) / (unit * unit));
}

/* Equal diagonals alone are no rectangle. */
static void
trap_line(const struct sheet *t, const struct square_figure *f)
{
    double most = 0;
    for (unsigned k = 0; k < 4; k++)
        most = fmax(most, fabs(f->corner[k].angle - f->corner[k].right));
    if (f->intended && f->square_verdict == SQUARE_LEAVE && f->state == SQUARE_OUTSIDE)
        say_of(t, "Alike diagonals do not make it square: a side is off, and a corner is out by %.1f min.", most * DEGREES * 60);
}

/* "towards NW" or "away from NW": from where a stake stands, along the side to its neighbour. */
static struct words
way_words(const struct sheet *t, double v, uint32_t neighbour, bool towards)
{
    struct words w = { "" };
    char text[LENGTH_TEXT];
    length_print(text, nm(v), t->style.move);
    if (!strpbrk(text, "123456789"))
        snprintf(w.text, sizeof w.text, "-");
    else
        snprintf(w.text, sizeof w.text, "%.95s %s %.80s", size_words(t, v).text, towards ? "towards" : "away from", name(t, neighbour));
    return w;
}

static void
move_row(const struct sheet *t, const struct square_figure *f, unsigned k, struct table *table)
{
    static const unsigned char along_to[4] = { 0, 0, 3, 2 }, across_to[4] = { 0, 0, 1, 0 };
    const struct site_frame_move *m = &f->cure.move[k];
    bool towards = k == 3 ? m->along > 0 : m->along < 0, across = (k == 2 || k == 3) && f->cure.kind != SITE_FRAME_SLIDE;
    table_cell(table, name(t, f->corner[k].name));
    table_cell(table, way_words(t, m->along, f->corner[along_to[k]].name, towards).text);
    sigma_cell(t, table, true, f->cure.kind == SITE_FRAME_SLIDE ? f->slide_sigma : f->corner[k].sigma_x);
    table_cell(table, across ? way_words(t, m->across, f->corner[across_to[k]].name, m->across < 0).text : NULL);
    sigma_cell(t, table, across, f->corner[k].sigma_y);
}

static int
after_table(const struct sheet *t, const struct square_figure *f)
{
    const struct table_column columns[] = { { "length", false, false }, { "now", true, false }, { "then", true, false }, { "intended", true, false } };
    struct table table;
    table_open(&table, columns, sizeof columns / sizeof columns[0]);
    for (uint32_t i = 0; i < SITE_FRAME_PAIRS; i++) {
        const struct square_length *l = length_at(t, f, i);
        pair_cell(t, &table, l->a, l->b);
        length_cell(t, &table, true, l->adjusted);
        length_cell(t, &table, true, f->cure.after[i]);
        length_cell(t, &table, l->intended, l->intent);
    }
    fputs("  Tape all six again then, in a tape entry of its own; they should come to\n", t->out);
    return table_print(&table, t->out);
}

static int
cure(const struct sheet *t, const struct square_figure *f)
{
    const struct table_column columns[] = { { "stake", false, false }, { "along its line", false, false }, { sigma_heading(t), true, false },
        { "along its side", false, false }, { sigma_heading(t), true, false } };
    struct table table;
    const char *a = name(t, f->corner[2].name), *b = name(t, f->corner[3].name);
    if (f->cure.kind == SITE_FRAME_LEAVE)
        return 0;
    const char *to_do = f->state == SQUARE_UNSURE ? "As far as these lengths tell" : "To do";
    if (f->cure.kind == SITE_FRAME_SLIDE)
        say_of(t, "%s: hold %s, %s and the sides; slide %s and %s alike, %s, the way from %s to %s.", to_do, name(t, f->corner[0].name),
            name(t, f->corner[1].name), a, b, size_words(t, f->slide).text, f->slide > 0 ? b : a, f->slide > 0 ? a : b);
    else
        say_of(t, "%s: hold %s and the direction to %s; move %s", to_do, name(t, f->corner[0].name), name(t, f->corner[1].name),
            f->cure.kind == SITE_FRAME_SIDES ? "what the sides need, and slide so that the diagonals come alike." : "each stake to its place.");
    table_open(&table, columns, sizeof columns / sizeof columns[0]);
    for (unsigned k = 1; k < 4; k++)
        if (fabs(f->cure.move[k].along) > 0 || fabs(f->cure.move[k].across) > 0)
            move_row(t, f, k, &table);
    if (table_print(&table, t->out) != 0)
        return -1;
    return after_table(t, f);
}

/* ---- what does not fit ---- */

static void
pairs_words(const struct sheet *t, const struct square_figure *f, struct remark *out)
{
    for (size_t i = 0; i < f->agains; i++) {
        const struct square_length *l = &t->s->length[f->again[i]];
        remark_add(out, "%s to %s", name(t, l->a), name(t, l->b));
    }
}

static const struct square_reading *
suspect_of(const struct sheet *t, const struct square_figure *f)
{
    for (uint32_t i = 0; i < f->lengths; i++)
        for (uint32_t k = 0; k < length_at(t, f, i)->count; k++)
            if (t->s->reading[length_at(t, f, i)->first + k].suspect)
                return &t->s->reading[length_at(t, f, i)->first + k];
    return NULL;
}

/* How a further taping is booked that belongs to an entry, before its number. */
static const char *
more_of(const struct sheet *t)
{
    return capture_words(t->out, "booked as more of entry ", "in an entry with continues: ");
}

static void
misfit_lines(const struct sheet *t, const struct square_figure *f)
{
    struct remark pairs = { 0 };
    const struct square_reading *suspect = suspect_of(t, f);
    uint32_t entry = t->s->r->tape[f->tape].entry + 1;
    say_of(t, "THESE LENGTHS DO NOT FIT TOGETHER: good ones would lie so far apart %s%.2g %% of the time. One is taped or booked wrong, or what "
           "was taped was not the same points; moving stakes does not cure it, and none is moved on these figures.",
        f->share < 1e-4 ? "less than " : "", f->share < 1e-4 ? 0.01 : f->share * 100);
    if (f->located && suspect) {
        const struct record_taped *row = suspect->row;
        uint32_t of = t->s->r->tape[row->tape].entry + 1;
        char strike[SHEET_WORDS];
        snprintf(strike, sizeof strike, " (rodbook strike --row %" PRIu32 ".%" PRIu32 ")", of, row->number);
        say_of(t, "It is row %" PRIu32 ".%" PRIu32 ", %s to %s, %s. Strike it%s and tape it again.", of, row->number, name(t, row->from),
            name(t, row->to), off_words(t, suspect->off, "too long by", "too short by").text, capture_words(t->out, "", strike));
        return;
    }
    pairs_words(t, f, &pairs);
    if (f->shape == SQUARE_FRAME && f->redundancy == 1)
        say_of(t, "Six lengths have one to spare: that one is wrong they tell, which one they cannot. Tape again in this order, %s%" PRIu32 ", "
               "until two tapings of one length differ: %s.",
            more_of(t), entry, pairs.text);
    else
        say_of(t, "Which one they cannot tell. Tape again, %s%" PRIu32 ": %s.", more_of(t), entry, pairs.text);
}

static void
open_line(const struct sheet *t, const struct square_figure *f)
{
    const struct square_length *l[3];
    if (!(f->open_by > 0)) {
        say_of(t, "ITS CORNERS LIE IN ONE LINE, as taped: lengths alone cannot place them.");
        return;
    }
    for (int k = 0; k < 3; k++)
        l[k] = length_at(t, f, f->open[k]);
    say_of(t, "THREE OF THEM DO NOT CLOSE: %s to %s is %s, but %s to %s and %s to %s reach only %s together: %s too short. One of the three is "
           "taped or booked wrong; tape them again.",
        name(t, l[0]->a), name(t, l[0]->b), length_words(t, l[0]->mean).text, name(t, l[1]->a), name(t, l[1]->b), name(t, l[2]->a),
        name(t, l[2]->b), length_words(t, l[1]->mean + l[2]->mean).text, size_words(t, f->open_by).text);
}

static void
wanting_lines(const struct sheet *t, const struct square_figure *f)
{
    struct remark missing = { 0 };
    size_t n = 0;
    for (uint32_t i = 0; i < f->lengths; i++) {
        const struct square_length *l = length_at(t, f, i);
        if (l->count > 0)
            continue;
        remark_add(&missing, "%s to %s", name(t, l->a), name(t, l->b));
        n++;
    }
    say_of(t, "NOT ENOUGH LENGTHS: of the six between these points five are needed, and %zu %s not taped: %s.", n, n == 1 ? "is" : "are", missing.text);
    if (f->before != SQUARE_NONE)
        say_of(t, "Each tape entry is a position of its own. Where nothing was moved since entry %" PRIu32 ", %s%" PRIu32 "%s.",
            t->s->r->tape[t->s->figure[f->before].tape].entry + 1, capture_words(t->out, "book this one as more of entry ", "write continues: "),
            t->s->r->tape[t->s->figure[f->before].tape].entry + 1, capture_words(t->out, "", " in this one"));
}

/* ---- verdicts ---- */

static void
unchecked_line(const struct sheet *t, const struct square_figure *f)
{
    if (f->redundancy > 0 || f->state == SQUARE_WANTING || f->state == SQUARE_OPEN)
        return;
    if (f->shape == SQUARE_FRAME)
        for (uint32_t i = 0; i < f->lengths; i++)
            if (length_at(t, f, i)->count == 0)
                say_of(t, "Nothing checks these five lengths: tape %s to %s as well, and a mistake shows.", name(t, length_at(t, f, i)->a),
                    name(t, length_at(t, f, i)->b));
    if (f->shape == SQUARE_TRIANGLE)
        say_of(t, "Nothing checks these three lengths: a mistake in one of them goes into the angles whole.");
}

static void
verdict_lines(const struct sheet *t, const struct square_figure *f)
{
    double sure = 100 * t->s->confidence;
    switch (f->state) {
    case SQUARE_GOOD:
        say_of(t, f->shape == SQUARE_FRAME && f->redundancy == 0 ? "GOOD, IF THESE FIVE ARE RIGHT: within the tolerances, at %g %%."
                                                            : "GOOD: within the tolerances, at %g %%.",
            sure);
        break;
    case SQUARE_UNJUDGED:
        say_of(t, f->intended || f->square_at < 3
                ? "NOT JUDGED WHOLE: nothing taped is outside, but no tolerance is published for what is longer than 100 ft (30 m): state one with the lengths."
                : f->shape == SQUARE_TRIANGLE
                ? "NOT JUDGED: no corner is meant to be square, by the places or within 10 degrees."
                : "NOT JUDGED: its points have no places that it could be held against; give x and y in points, or a site.");
        break;
    case SQUARE_UNSURE:
        say_of(t, "CAN'T TELL at %g %%: what is \"can't tell\" below is too near its tolerance. Tape again, %s%" PRIu32 ".",
            sure, more_of(t), t->s->r->tape[f->tape].entry + 1);
        break;
    case SQUARE_OUTSIDE:
        say_of(t, "OUTSIDE the tolerances, at %g %%.", sure);
        break;
    case SQUARE_WANTING:
        wanting_lines(t, f);
        break;
    case SQUARE_MISFIT:
        misfit_lines(t, f);
        break;
    case SQUARE_OPEN:
        open_line(t, f);
        break;
    }
    unchecked_line(t, f);
}

static void
moved_line(const struct sheet *t, const struct square_figure *f)
{
    static const char *const words[] = { "done", "short", "past: too far", "WRONG WAY: it got worse", "disturbed: nothing was asked" };
    /* enum site_moved */
    if (!f->has_moved)
        return;
    const char *a = name(t, f->corner[2].name), *b = name(t, f->corner[3].name);
    uint32_t entry = t->s->r->tape[t->s->figure[f->before].tape].entry + 1;
    if (!(fabs(f->asked) > 0))
        say_of(t, "Since entry %" PRIu32 ": no slide was asked; the far line went %s: %s.", entry, size_words(t, f->done).text,
            f->moved == SITE_DONE ? "left as it was" : words[f->moved]);
    else
        say_of(t, "Since entry %" PRIu32 ": %s and %s were to slide %s the way from %s to %s; they went %s%s: %s.", entry, a, b,
            size_words(t, f->asked).text, f->asked > 0 ? b : a, f->asked > 0 ? a : b, size_words(t, f->done).text,
            (f->done > 0) == (f->asked > 0) || !(fabs(f->done) > 0) ? "" : " the other way", words[f->moved]);
}

static void
square_corner_line(const struct sheet *t, const struct square_figure *f)
{
    if (f->square_at > 2)
        return;
    const struct square_length *l = length_at(t, f, f->square_at);
    struct words words = off_words(t, f->needs_off, "long", "short");
    const char *off = words.text;
    say_of(t, "A right angle at %s needs %s to %s at %s; taped it is %s, %s, +- %s%s%s.", name(t, f->corner[f->square_at].name), name(t, l->a),
        name(t, l->b), length_words(t, f->needs).text, length_words(t, l->mean).text, off[0] == '-' ? "as it should" : off,
        sure_words(t, f->needs_sigma).text, f->square_verdict == SQUARE_LEAVE ? ": near enough" : f->square_verdict == SQUARE_NOT_JUDGED ? "" : ": ",
        f->square_verdict == SQUARE_LEAVE || f->square_verdict == SQUARE_NOT_JUDGED ? "" : verdict_remark(f->square_verdict));
}

/* Part of it was taped anew: nobody may take these figures for what stands now without a thought. */
static void
partly_line(const struct sheet *t, const struct square_figure *f)
{
    if (f->partly != SQUARE_NONE)
        say_of(t, "TAPED AGAIN IN PART since, in entry %" PRIu32 ": what stands here is as it was before that.",
            t->s->r->tape[t->s->figure[f->partly].tape].entry + 1);
}

static int
figure(const struct sheet *t, const struct square_figure *f)
{
    heading(t, f);
    verdict_lines(t, f);
    partly_line(t, f);
    moved_line(t, f);
    if (f->has_cure && (f->state == SQUARE_OUTSIDE || f->state == SQUARE_UNSURE) && cure(t, f) != 0)
        return -1;
    basis(t, f);
    if (lengths_table(t, f) != 0 || corrections_table(t, f) != 0)
        return -1;
    if (f->shape == SQUARE_FRAME && f->fitted) {
        diagonals_line(t, f);
        trap_line(t, f);
    }
    square_corner_line(t, f);
    if (f->fitted && f->state != SQUARE_MISFIT && corners_table(t, f) != 0)
        return -1;
    return f->redundancy > 0 ? tests_table(t, f) : 0;
}

int
sheet_square(const struct square *s, FILE *out)
{
    struct sheet t = { .s = s, .style = sheet_style_of(s->r), .metric = s->r->job.unit == LENGTH_BARE_M, .out = out };
    size_t before = 0;
    if (t.style.move.parts < 16)
        t.style.move.parts = 16;
    sheet_record_title(s->r, "Square", out);
    for (size_t i = 0; i < s->figures; i++) {
        before += s->figure[i].superseded;
        if (!s->figure[i].superseded && figure(&t, &s->figure[i]) != 0)
            return -1;
    }
    if (s->figures == 0)
        fputs("\nEvery taped length is struck.\n", out);
    fputc('\n', out);
    if (s->left_over > 0)
        say_of(&t, "%zu lengths belong to no figure; see the warnings.", s->left_over);
    if (before > 0)
        say_of(&t, "%zu earlier position%s not shown%s.", before, before == 1 ? "" : "s", capture_words(out, "", "; --json has all"));
    fputs("+-: standard deviations, from that of one taped length. Test: residual over its standard deviation;\n"
          "beyond 3.29 either way one good reading in 1000 is. Redundancy: the part of a mistake that its own\n"
          "residual shows. Finds from: a mistake of this size is found 80 times in 100.\n"
          "A square frame is not a boundary survey and finds no buried services: have them located and marked\n"
          "before a stake is driven or a hole dug, and set back from lines as the plan and the local code say.\n",
        out);
    return 0;
}
