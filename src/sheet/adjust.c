/* adjust.c - the sheet of an adjustment: for a builder first, for a surveyor below */
#include "parts.h"

#include "rodbook/room.h"
#include "rodbook/text.h"

#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

#define LOOPS_MOST 60 /* loops on the sheet; the JSON has all */
#define NAMES_MOST 40 /* names in a sentence */
#define OVER_MOST 44  /* columns for the points that a loop goes over */

/* ---- numbers ---- */

/* Standard deviations and residuals: one figure more than elevations, in the unit of limits. */
static const char *
small_unit(const struct sheet_style *style)
{
    switch (style->elevation.form) {
    case LENGTH_AS_FT:
        return "ft";
    case LENGTH_AS_FT_IN:
        return "inches";
    default:
        return "mm";
    }
}

static void
small_words(char out[SHEET_WORDS], double metres, const struct sheet_style *style)
{
    double nm = metres * (double)LENGTH_M;
    sheet_deviation_words(out, nm, style);
    out[strcspn(out, " ")] = '\0'; /* the unit stands in the caption */
    if (!strpbrk(out, "123456789") && out[0] == '-')
        memmove(out, out + 1, strlen(out));
}

static void
small_signed(char out[SHEET_WORDS], double metres, const struct sheet_style *style)
{
    char text[SHEET_WORDS];
    small_words(text, metres, style);
    stpcpy(stpcpy(out, metres > 0 && strpbrk(text, "123456789") ? "+" : ""), text);
}

static void
small_cell(struct table *t, double metres, const struct sheet_style *style)
{
    char text[SHEET_WORDS];
    small_words(text, metres, style);
    table_cell(t, metres < 0 ? NULL : text);
}

static void
ratio_cell(struct table *t, double value, int places)
{
    char text[SHEET_WORDS];
    snprintf(text, sizeof text, "%.*f", places, value);
    table_cell(t, value < 0 ? NULL : text);
}

/* ---- sentences ---- */

/* Names, commas between them, each kept whole; the last closed by a full stop. */
struct list {
    struct lines *lines;
    char held[SHEET_WORDS * 2 + 2];
    size_t named, left_out;
};

static void
list_name(struct list *list, const char *name)
{
    if (list->named == NAMES_MOST) {
        list->left_out++;
        return;
    }
    if (list->held[0]) {
        stpcpy(list->held + strlen(list->held), ",");
        say_word(list->lines, list->held, strlen(list->held));
    }
    stpcpy(list->held, name);
    list->named++;
}

static void
end_list(struct list *list)
{
    char more[SHEET_WORDS];
    if (list->left_out == 0) {
        stpcpy(list->held + strlen(list->held), ".");
        say_word(list->lines, list->held, strlen(list->held));
    } else {
        say_word(list->lines, list->held, strlen(list->held));
        snprintf(more, sizeof more, "and %zu more.", list->left_out);
        say(list->lines, more);
    }
    end_sentence(list->lines);
}

/* ---- observations by name ---- */

/* "5.3", or "2" for a mark given in entry 2. */
static void
place_words(char out[SHEET_WORDS], const struct adjust *a, const struct adjust_observation *of)
{
    const struct record *r = a->job->r;
    uint32_t row = of->kind == ADJUST_READING ? a->job->sight_row[of->index] : 0;
    switch (of->kind) {
    case ADJUST_READING:
        snprintf(out, SHEET_WORDS, "%" PRIu32 ".%" PRIu32, record_row_entry(r, row) + 1, record_row_number(r, row));
        break;
    case ADJUST_SECTION:
        snprintf(out, SHEET_WORDS, "%" PRIu32 ".%" PRIu32, r->section[of->index].entry + 1, r->section[of->index].number);
        break;
    case ADJUST_MARK:
        snprintf(out, SHEET_WORDS, "%" PRIu32, r->mark[of->index].entry + 1);
        break;
    }
}

/* "BS TP1", "A to B", "mark BM2". */
static void
observation_words(char out[SHEET_WORDS * 4], const struct adjust *a, const struct adjust_observation *of)
{
    static const char *const sights[] = { "BS ", "IS ", "FS " }; /* enum level_kind */
    char words[SHEET_WORDS * 2];
    char *p = out;
    if (of->kind == ADJUST_SECTION) {
        spot_words(words, a->job, a->job->leg[of->leg].from, NO_FROM);
        p = stpcpy(stpcpy(p, words), " to ");
        spot_words(words, a->job, a->job->leg[of->leg].to, NO_TO);
    } else {
        p = stpcpy(p, of->kind == ADJUST_MARK ? "mark " : sights[a->job->sight[of->index].kind]);
        spot_words(words, a->job, of->spot, NO_TO);
    }
    stpcpy(p, words);
}

static bool
is_last_position(const struct job *job, uint32_t spot)
{
    return job->spot_of[(size_t)job->spot[spot].at * RECORD_ON_COUNT + job->spot[spot].on] == spot;
}

/* ---- in short ---- */

static bool
has_readings(const struct adjust *a)
{
    return a->points < a->net.nodes;
}

static void
say_fit(const struct fit *f, const struct sheet_style *style, struct lines *l)
{
    const struct record_job *job = &f->a->job->r->job;
    char given[SHEET_WORDS], found[SHEET_WORDS], words[SHEET_WORDS * 4];
    sheet_deviation_words(given, job->sigma * (double)LENGTH_M, style);
    if (f->a->freedom == 0) {
        say(l, "Nothing is observed more often than it must be: how good the readings are cannot be told from them, and no "
               "mistake would show.");
        end_sentence(l);
        return;
    }
    sheet_deviation_words(found, fit_scaled(f, job->sigma) * (double)LENGTH_M, style);
    if (has_readings(f->a))
        snprintf(words, sizeof words, "A reading is taken to be good to %s%s; going by how they fit together it is %s.", given,
            job->sigma == (double)job->least / 2 / (double)LENGTH_M ? ", half the least division" : "", found);
    else
        snprintf(words, sizeof words, "The sections are taken to be as good as their sigmas say; going by how they fit together "
            "they are %.2f times as far off.", f->unit);
    say(l, words);
    switch (f->verdict) {
    case FIT_WITHIN:
        say(l, "The difference is what chance brings.");
        break;
    case FIT_WORSE:
        say(l, "That is worse than chance brings: there is a mistake in them, or they are not as good as was said.");
        break;
    case FIT_BETTER:
        say(l, "That is better than chance brings: they are better than was said, or not independent of one another.");
        break;
    case FIT_UNTESTED:
        break;
    }
    end_sentence(l);
}

static void
say_worst(const struct fit *f, struct lines *l)
{
    const struct adjust_observation *of = &f->a->of[f->worst];
    char words[SHEET_WORDS * 4], place[SHEET_WORDS], line[SHEET_WORDS * 6];
    if (f->checked == 0)
        return;
    if (f->beyond == 0) {
        say(l, "None of them stands out.");
        end_sentence(l);
        return;
    }
    observation_words(words, f->a, of);
    place_words(place, f->a, of);
    snprintf(line, sizeof line, "%zu %s further off than chance explains; look first at %s in %s %s.", f->beyond,
        f->beyond == 1 ? "observation lies" : "observations lie", words, of->kind == ADJUST_MARK ? "entry" : "row", place);
    say(l, line);
    snprintf(line, sizeof line, "%zu are off alike: the others cannot tell which of them it is.", f->alike);
    if (f->alike > 1)
        say(l, line);
    end_sentence(l);
}

/* What may stay hidden, where others check a reading at all. */
static void
say_detectable(const struct fit *f, const struct sheet_style *style, struct lines *l)
{
    double least = 0, most = 0;
    char from[SHEET_WORDS], to[SHEET_WORDS], words[SHEET_WORDS * 4];
    for (size_t i = 0; i < f->a->observations; i++) {
        double size = f->observation[i].detectable;
        if (size < 0)
            continue;
        least = least == 0 || size < least ? size : least;
        most = size > most ? size : most;
    }
    if (f->checked == 0)
        return;
    sheet_deviation_words(from, least * (double)LENGTH_M, style);
    sheet_deviation_words(to, most * (double)LENGTH_M, style);
    if (strcmp(from, to) == 0)
        snprintf(words, sizeof words, "In a reading that others check, a mistake of %s shows %.0f times in 100; a smaller one may stay "
            "hidden.", to, FIT_POWER * 100);
    else
        snprintf(words, sizeof words, "In a reading that others check, a mistake of %s shows %.0f times in 100, in the one best checked "
            "already one of %s; a smaller one may stay hidden.", to, FIT_POWER * 100, from);
    say(l, words);
    end_sentence(l);
}

/* The least sure elevation of all at their last positions. */
static void
say_least_sure(const struct fit *f, const struct sheet_style *style, struct lines *l)
{
    const struct job *job = f->a->job;
    uint32_t worst = LEVEL_NONE;
    double sigma = 0, own;
    length value;
    char name[SHEET_WORDS * 2], size[SHEET_WORDS], words[SHEET_WORDS * 5];
    for (uint32_t i = 0; i < job->spots; i++) {
        if (!job->spot[i].shown || !is_last_position(job, i) || !adjust_spot(f->a, i, &value, &own) || !(own > sigma))
            continue;
        sigma = own;
        worst = i;
    }
    if (worst == LEVEL_NONE)
        return;
    spot_words(name, job, worst, "");
    sheet_deviation_words(size, sigma * (double)LENGTH_M, style);
    snprintf(words, sizeof words, "The least sure elevation is that of %s: if there is no mistake it is good to %s, two times in three.", name,
        size);
    say(l, words);
    end_sentence(l);
}

static void
say_loops(const struct fit *f, struct lines *l)
{
    char words[SHEET_WORDS];
    if (f->loops.loops == 0)
        return;
    if (f->loops_outside > 0)
        snprintf(words, sizeof words, "%zu of %zu loops %s outside what the job allows.", f->loops_outside, f->loops.loops,
            f->loops_outside == 1 ? "is" : "are");
    else if (f->a->job->r->job.allow_per == RECORD_ALLOW_NONE)
        snprintf(words, sizeof words, "No loop is judged: the job allows nothing in particular.");
    else
        snprintf(words, sizeof words, "No loop is outside what the job allows.");
    say(l, words);
    end_sentence(l);
}

static void
say_unchecked(const struct fit *f, enum fit_check check, const char *words, struct lines *l)
{
    struct list list = { .lines = l };
    char name[SHEET_WORDS * 2];
    say(l, words);
    for (uint32_t i = 0; i < f->a->job->spots; i++) {
        if (f->check[i] != check || !is_last_position(f->a->job, i))
            continue;
        spot_words(name, f->a->job, i, "");
        list_name(&list, name);
    }
    end_list(&list);
}

static void
say_pieces(const struct fit *f, struct lines *l)
{
    char words[SHEET_WORDS * 2], name[SHEET_WORDS * 2];
    struct list list = { .lines = l };
    if (f->pieces < 2)
        return;
    snprintf(words, sizeof words, "The job falls into %zu pieces that only held marks join, so that none of them says a word "
        "about the mistakes of another; they begin with", f->pieces);
    say(l, words);
    for (size_t i = 0; i < f->pieces; i++) {
        uint32_t position = f->a->job->spot[f->piece[i].spot].position;
        spot_words(name, f->a->job, f->piece[i].spot, "");
        char *end = name + strlen(name);
        if (position > 1)
            snprintf(end, sizeof name - (size_t)(end - name), " (position %" PRIu32 ")", position);
        list_name(&list, name);
    }
    end_list(&list);
}

static void
in_short(const struct fit *f, const struct sheet_style *style, FILE *out)
{
    struct lines l = { .out = out };
    fputs("\nIn short\n", out);
    if (f->a->observations == 0) {
        say(&l, "No levels are booked yet.");
        end_sentence(&l);
        return;
    }
    say_fit(f, style, &l);
    say_worst(f, &l);
    say_detectable(f, style, &l);
    say_least_sure(f, style, &l);
    say_loops(f, &l);
    if (f->once > 0)
        say_unchecked(f, FIT_ONCE, "Read once, so that a wrong reading would not show:", &l);
    if (f->spurs > 0)
        say_unchecked(f, FIT_SPUR, "On a spur, so that a wrong reading on the way there would not show:", &l);
    say_pieces(f, &l);
}

/* ---- how it fits ---- */

static void
how_it_fits(const struct fit *f, FILE *out)
{
    static const char *const words[] = { "", "within", "ABOVE", "below" }; /* enum fit_verdict */
    const struct adjust *a = f->a;
    size_t setups = a->net.nodes - a->points;
    fprintf(out, "\nHow it fits\n  %zu observation%s less %zu elevation%s and %zu height%s of instrument: degrees of freedom %zu\n",
        a->observations, a->observations == 1 ? "" : "s", a->points, a->points == 1 ? "" : "s", setups, setups == 1 ? "" : "s", a->freedom);
    if (a->freedom == 0)
        return;
    fprintf(out, "  standard deviation of unit weight: 1 by the weights given, %.4f by the fit\n", f->unit);
    fprintf(out, "  sum of weighted squared residuals %.4f; with %.6g %% confidence from %.4f to %.4f: %s\n", a->vpv,
        f->confidence * 100, f->low, f->high, words[f->verdict]);
    fprintf(out, "  each observation, by the weights given: beyond %.3f (normal test, level %g)\n", f->normal_limit,
        FIT_LOCAL_LEVEL);
    if (f->tau_limit > 0)
        fprintf(out, "  each observation, by the fit: beyond %.3f (tau test, level %.4g: %.6g %% for all %zu together)\n",
            f->tau_limit, f->tau_level, f->confidence * 100, f->checked);
    else
        fputs("  each observation, by the fit: no test, with one degree of freedom all are alike\n", out);
}

/* ---- elevations ---- */

static const char *
check_words(const struct fit *f, uint32_t spot)
{
    static const char *const words[] = { "", "held", "", "read once: nothing checks it", "spur: nothing checks it" }; /* enum fit_check */
    bool given = f->a->job->level_spot[spot].state == LEVEL_MARK;
    return f->check[spot] == FIT_CHECKED && given ? "mark, given with a standard deviation" : words[f->check[spot]];
}

static int
points_table(const struct fit *f, const struct sheet_style *style, FILE *out)
{
    static const struct table_column columns[] = { { "point", false, false }, { "on", false, false }, { "adjusted", true, false },
        { "sigma", true, false }, { "by the fit", true, false }, { "remarks", false, false } };
    const struct job *job = f->a->job;
    struct table t;
    length value = 0;
    double sigma = 0;
    fprintf(out, "\nElevations; sigma, in %s: standard deviation by the weights given, and by the fit\n", small_unit(style));
    table_open(&t, columns, sizeof columns / sizeof columns[0]);
    for (uint32_t i = 0; i < job->spots; i++) {
        struct remark remark = { 0 };
        if (!job->spot[i].shown || !adjust_spot(f->a, i, &value, &sigma))
            continue;
        table_cell(&t, spot_name(job, i));
        table_cell(&t, spot_on(job, i));
        table_length(&t, value, style->adjusted);
        small_cell(&t, f->check[i] == FIT_HELD ? -1 : sigma, style);
        small_cell(&t, f->check[i] == FIT_HELD ? -1 : fit_scaled(f, sigma), style);
        if (check_words(f, i)[0])
            remark_add(&remark, "%s", check_words(f, i));
        if (job->spot[i].position > 1)
            remark_add(&remark, "position %" PRIu32, job->spot[i].position);
        if (!is_last_position(job, i))
            remark_add(&remark, "before it was moved");
        if (job->level_spot[i].quality == LEVEL_FORCED)
            remark_add(&remark, "on a line OUTSIDE its limit");
        table_cell(&t, remark.text);
    }
    return table_print(&t, out);
}

static int
setups_table(const struct fit *f, const struct sheet_style *style, FILE *out)
{
    static const struct table_column columns[] = { { "set-up", false, false }, { "from", false, false }, { "HI", true, false },
        { "sigma", true, false }, { "by the fit", true, false }, { "remarks", false, false } };
    const struct job *job = f->a->job;
    struct table t;
    length value = 0;
    double sigma = 0;
    if (!has_readings(f->a))
        return 0;
    fputs("\nHeights of instrument, adjusted\n", out);
    table_open(&t, columns, sizeof columns / sizeof columns[0]);
    for (uint32_t i = 0; i < job->legs; i++) {
        char words[SHEET_WORDS * 2];
        if (!adjust_hi(f->a, i, &value, &sigma))
            continue;
        setup_name(words, job, i);
        table_cell(&t, words);
        spot_words(words, job, job->leg[i].from, NO_FROM);
        table_cell(&t, words);
        table_length(&t, value, style->adjusted);
        small_cell(&t, sigma, style);
        small_cell(&t, fit_scaled(f, sigma), style);
        table_cell(&t, f->setup_checked[i] ? NULL : "nothing checks it");
    }
    return table_print(&t, out);
}

/* ---- observations ---- */

static void
observed_cells(struct table *t, const struct fit *f, size_t i, const struct sheet_style *style)
{
    char words[SHEET_WORDS * 4];
    place_words(words, f->a, &f->a->of[i]);
    table_cell(t, words);
    observation_words(words, f->a, &f->a->of[i]);
    table_cell(t, words);
    table_length(t, f->observation[i].observed, f->a->of[i].kind == ADJUST_READING ? style->elevation : style->adjusted);
}

static int
checked_table(const struct fit *f, const struct sheet_style *style, FILE *out)
{
    static const struct table_column columns[] = { { "row", false, false }, { "observation", false, false },
        { "observed", true, false }, { "residual", true, false }, { "sigma", true, false }, { "redund.", true, false },
        { "normal.", true, false }, { "student.", true, false }, { "shows at", true, false }, { "test", false, false } };
    struct table t;
    if (f->checked == 0)
        return 0;
    fprintf(out,
        "\nObservations that others check; residual (adjusted - observed), sigma and size that shows in %s\n"
        "  sigma: of the adjusted observation, by the weights given; by the fit it is %.4f times that\n"
        "  redund.: redundancy number, the part of a mistake that the residual shows\n"
        "  normal., student.: residual over its standard deviation, by the weights given and by the fit\n"
        "  shows at: a mistake of this size is found %.0f times in 100\n",
        small_unit(style), f->unit, FIT_POWER * 100);
    table_open(&t, columns, sizeof columns / sizeof columns[0]);
    for (size_t i = 0; i < f->a->observations; i++) {
        const struct fit_observation *o = &f->observation[i];
        char text[SHEET_WORDS];
        if (!(o->redundancy > 0))
            continue;
        observed_cells(&t, f, i, style);
        small_signed(text, o->residual, style);
        table_cell(&t, text);
        small_cell(&t, o->sigma, style);
        ratio_cell(&t, o->redundancy, 3);
        ratio_cell(&t, o->normalised, 2);
        ratio_cell(&t, o->studentised, 2);
        small_cell(&t, o->detectable, style);
        table_cell(&t, o->normal_beyond && o->tau_beyond ? "BEYOND" : o->normal_beyond ? "NORMAL" : o->tau_beyond ? "TAU" : NULL);
    }
    return table_print(&t, out);
}

static int
unchecked_table(const struct fit *f, const struct sheet_style *style, FILE *out)
{
    static const struct table_column columns[] = { { "row", false, false }, { "observation", false, false },
        { "observed", true, false }, { "sigma", true, false }, { "redundancy number 0", false, false } };
    struct table t;
    if (f->checked == f->a->observations)
        return 0;
    fprintf(out, "\nObservations that nothing checks; sigma in %s, by the weights given\n", small_unit(style));
    table_open(&t, columns, sizeof columns / sizeof columns[0]);
    for (size_t i = 0; i < f->a->observations; i++) {
        if (f->observation[i].redundancy > 0)
            continue;
        observed_cells(&t, f, i, style);
        small_cell(&t, f->observation[i].sigma, style);
        table_cell(&t, "nothing checks it");
    }
    return table_print(&t, out);
}

/* ---- loops ---- */

uint32_t *
loop_room(const struct fit *f)
{
    size_t most = 0;
    for (size_t i = 0; i < f->loops.loops; i++)
        most = f->loops.loop[i].count > most ? f->loops.loop[i].count : most;
    return room_new(2 * most, sizeof(uint32_t));
}

/* The points of a loop, as many as there is room for. */
static void
over_words(char *out, size_t room, const struct job *job, const uint32_t *spot, size_t n)
{
    char name[SHEET_WORDS * 2];
    size_t used = 0, width = 0, i = 0;
    for (; i < n; i++) {
        spot_words(name, job, spot[i], "");
        size_t more = text_width(name) + (i > 0 ? 2 : 0), bytes = strlen(name) + 2;
        if (used + bytes + 32 > room || (i > 0 && width + more > OVER_MOST))
            break;
        used += (size_t)snprintf(out + used, room - used, "%s%s", i > 0 ? ", " : "", name);
        width += more;
    }
    if (i < n)
        snprintf(out + used, room - used, " and %zu more", n - i);
}

static int
loops_table(const struct fit *f, const struct sheet_style *style, FILE *out)
{
    static const struct table_column columns[] = { { "misclosure", true, false }, { "allowed", true, false },
        { "", false, false }, { "sigma", true, false }, { "ratio", true, false }, { "set-ups", true, false },
        { "over", false, false } };
    struct table t;
    size_t shown = f->loops.loops < LOOPS_MOST ? f->loops.loops : LOOPS_MOST;
    if (f->loops.loops == 0)
        return 0;
    uint32_t *spot = loop_room(f);
    if (!spot)
        return -1;
    fprintf(out, "\nLoops, %zu that all others are sums of; misclosure (measured - known), limit and sigma in %s\n"
        "  sigma: standard deviation of the misclosure by the weights given; ratio: misclosure over sigma\n", f->loops.loops,
        small_unit(style));
    table_open(&t, columns, sizeof columns / sizeof columns[0]);
    for (size_t i = 0; i < shown; i++) {
        const struct adjust_loop *loop = &f->loops.loop[f->loop_order[i]];
        char text[SHEET_WORDS * 4];
        small_signed(text, (double)loop->misclosure / (double)LENGTH_M, style);
        table_cell(&t, text);
        small_cell(&t, loop->allowed_nm / (double)LENGTH_M, style);
        table_cell(&t, loop->within == LEVEL_BEYOND ? "OUTSIDE" : NULL);
        small_cell(&t, loop->sigma, style);
        ratio_cell(&t, fit_loop_ratio(loop), 2);
        snprintf(text, sizeof text, "%" PRIu32, loop->setups);
        table_cell(&t, loop->setups_known && loop->setups > 0 ? text : NULL);
        size_t n = adjust_loop_spots(f->a, &f->loops, loop, spot);
        over_words(text, sizeof text, f->a->job, spot, n);
        table_cell(&t, text);
    }
    free(spot);
    int rc = table_print(&t, out);
    if (shown < f->loops.loops)
        fprintf(out, "  and %zu more, further down in this order%s; --json lists them all\n", f->loops.loops - shown,
            f->loops_outside > shown ? ", some of them OUTSIDE" : ", none of them outside");
    return rc;
}

int
sheet_adjust(const struct fit *f, FILE *out)
{
    struct sheet_style style = sheet_style_of(f->a->job->r);
    sheet_title(f->a->job, "Adjustment by least squares", out);
    in_short(f, &style, out);
    how_it_fits(f, out);
    if (points_table(f, &style, out) != 0 || setups_table(f, &style, out) != 0 || checked_table(f, &style, out) != 0
        || unchecked_table(f, &style, out) != 0 || loops_table(f, &style, out) != 0)
        return -1;
    return 0;
}
