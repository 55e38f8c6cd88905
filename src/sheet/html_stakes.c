/* html_stakes.c - the stake sheet that is carried to the marks, on a telephone or printed */
#include "html.h"

#include "canvas_out.h"
#include "moves.h"

#include <stdlib.h>
#include <string.h>

/* ---- shapes ---- */

static const struct {
    const char *id;
    struct job_stake stake; /* one that is shown so */
} shapes[] = {
    { "shape-up", { .verdict = JOB_MOVE, .move = { .move = 1 } } },
    { "shape-down", { .verdict = JOB_MOVE, .move = { .move = -1 } } },
    { "shape-leave", { .verdict = JOB_LEAVE } },
    { "shape-unknown", { .verdict = JOB_UNSURE } },
};

#define SHAPES (sizeof shapes / sizeof shapes[0])

int
html_shapes(FILE *out)
{
    struct canvas c = { 0 };
    for (size_t i = 0; i < SHAPES; i++) {
        canvas_turn(&c, MOVES_SHAPE, MOVES_SHAPE, "");
        if (!c.no_memory)
            moves_shape(&c, &shapes[i].stake, MOVES_SHAPE / 2, MOVES_SHAPE / 2, 1);
    }
    int rc = c.no_memory ? -1 : 0;
    if (rc == 0)
        fputs("<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"shapes\" width=\"0\" height=\"0\" aria-hidden=\"true\" focusable=\"false\">\n", out);
    for (size_t i = 0; rc == 0 && i < SHAPES; i++)
        canvas_svg_symbol(&c, i, shapes[i].id, out);
    if (rc == 0)
        fputs("</svg>\n", out);
    canvas_release(&c);
    return rc;
}

/* "up", "down", "leave" or "unknown": part of an id, and a class. */
static const char *
shape_word(const struct job_stake *s)
{
    if (s->verdict == JOB_MOVE)
        return s->move.move > 0 ? "up" : "down";
    return s->verdict == JOB_LEAVE ? "leave" : "unknown";
}

/* ---- one mark ---- */

struct stakes {
    const struct job *job;
    struct sheet_style style;
    FILE *out;
};

/* The mark as those hear it who do not see the row: "A2 post". */
static void
put_mark(const struct stakes *k, const struct job_stake *s)
{
    html_name(names_text(&k->job->r->names, s->at), k->out);
    fprintf(k->out, " %s", record_on_word((enum record_on)s->on));
}

static void
put_name(const struct stakes *k, const struct job_stake *s)
{
    fputs("<th role=\"rowheader\" scope=\"row\" class=\"mark\">", k->out);
    html_name(names_text(&k->job->r->names, s->at), k->out);
    fprintf(k->out, " <span class=\"on\">%s</span></th>\n", record_on_word((enum record_on)s->on));
}

#define MOVE_LARGE 14 /* letters of a move that is set in the largest type: as many as a card on a narrow screen has room for */

static void
put_move(const struct stakes *k, const struct job_stake *s)
{
    char words[SHEET_WORDS], sure[SHEET_WORDS];
    const char *shape = shape_word(s);
    moves_words(words, s, &k->style);
    sheet_sure_words(sure, s->sigma, &k->style);
    bool known = s->sigma >= 0;
    fprintf(k->out, "<td role=\"cell\" class=\"move %s\"><svg xmlns=\"http://www.w3.org/2000/svg\" class=\"shape\" aria-hidden=\"true\" focusable=\"false\">"
        "<use href=\"#shape-%s\"/></svg> <strong%s>", shape, shape, strlen(words) > MOVE_LARGE ? " class=\"long\"" : "");
    html_words(words, k->out);
    fputs("</strong>", k->out);
    if (known) {
        char words_sure[SHEET_WORDS + 4];
        snprintf(words_sure, sizeof words_sure, "+- %s", sure);
        fputs(" <span class=\"more\">", k->out);
        html_words(words_sure, k->out);
        fputs("</span>", k->out);
    }
    fputs("</td>\n", k->out);
}

static void
put_rod(const struct stakes *k, const struct job_stake *s)
{
    char rod[LENGTH_TEXT], from[SHEET_WORDS * 2];
    moves_rod(rod, s, &k->style);
    moves_rod_from(from, k->job, s, &k->style);
    fputs("<td role=\"cell\" class=\"n rod\" data-label=\"grade rod\"><strong>", k->out);
    html_words(rod, k->out);
    fputs("</strong>", k->out);
    if (from[0])
        fprintf(k->out, " <span class=\"more\">%s</span>", from);
    fputs("</td>\n", k->out);
}

/* Cut or fill, and below it where the mark is and where it belongs. */
static void
put_cut(const struct stakes *k, const struct job_stake *s)
{
    char text[SHEET_WORDS];
    moves_cut(text, s, &k->style);
    fprintf(k->out, "<td role=\"cell\" class=\"n\"%s>", text[0] ? "" : " data-label=\"cut or fill\""); /* else it says which itself */
    html_words(text[0] ? text : "-", k->out);
    fputs(" <span class=\"more levels\">", k->out);
    moves_levels(text, s, &k->style);
    html_words(text, k->out);
    fputs("</span></td>\n", k->out);
}

static void
put_remarks(const struct stakes *k, const struct job_stake *s)
{
    struct remark remark = { 0 };
    sheet_stake_remarks(k->job, s, &k->style, &remark);
    fprintf(k->out, "<td role=\"cell\" class=\"remarks%s\">", moves_doubtful(s) ? " warn" : "");
    html_words(remark.text, k->out);
    fputs("</td>\n", k->out);
}

/* Readings in feet and inches have blanks and quotes, which a keypad for numbers does not. */
static void
put_answers(const struct stakes *k, const struct job_stake *s)
{
    const char *keys = k->style.elevation.form == LENGTH_AS_FT_IN ? "text" : "decimal";
    fputs("<td role=\"cell\" class=\"after\"><label><span class=\"label\">reads after</span> <span class=\"sr\">", k->out);
    put_mark(k, s);
    fprintf(k->out, "</span><input type=\"text\" inputmode=\"%s\" maxlength=\"16\" size=\"9\" autocomplete=\"off\" spellcheck=\"false\"/></label></td>\n", keys);
    fputs("<td role=\"cell\" class=\"done\"><label><span class=\"label\">done</span> <span class=\"sr\">", k->out);
    put_mark(k, s);
    fputs("</span><input type=\"checkbox\" autocomplete=\"off\"/></label></td>\n", k->out);
}

static void
put_stake(const struct stakes *k, const struct job_stake *s)
{
    fputs("<tr role=\"row\">\n", k->out);
    put_name(k, s);
    put_move(k, s);
    put_rod(k, s);
    put_cut(k, s);
    put_remarks(k, s);
    put_answers(k, s);
    fputs("</tr>\n", k->out);
}

/* ---- marks of one grade that need the same ---- */

struct lot {
    const uint32_t *order; /* into job.stake */
    size_t marks;          /* 0: there is none */
    const struct job_stake *first;
};

/* The one that begins at order[from]. */
static struct lot
lot_at(const struct job *job, const uint32_t *order, size_t from)
{
    struct lot lot = { .order = order + from };
    if (from >= job->stakes)
        return lot;
    lot.first = &job->stake[order[from]];
    lot.marks = moves_lot(job, lot.order, job->stakes - from);
    return lot;
}

static struct lot
lot_behind(const struct job *job, const uint32_t *order, const struct lot *lot)
{
    return lot_at(job, order, (size_t)(lot->order - order) + lot->marks);
}

/* ---- the sheet ---- */

#define HEADINGS 7

/* The columns; and a line above them that is seen on paper alone, where each page has it again. */
static void
put_headings(const struct stakes *k, const struct job_stake *first)
{
    const char *const heading[HEADINGS][2] = { { "mark", "" }, { "move", "" }, { "grade rod", " class=\"n\"" },
        { moves_cut_heading(&k->style), " class=\"n\"" }, { "remarks", " class=\"remarks\"" }, { "reads after", "" }, { "done", "" } };
    fputs("<colgroup>", k->out);
    for (size_t i = 0; i < HEADINGS; i++)
        fputs("<col/>", k->out);
    fprintf(k->out, "</colgroup>\n<thead role=\"rowgroup\"><tr role=\"row\" class=\"again\"><th role=\"columnheader\" scope=\"colgroup\" "
        "colspan=\"%d\">Grade ", HEADINGS);
    html_name(names_text(&k->job->r->names, k->job->grade[first->grade_index].from->name), k->out);
    fputs(": ", k->out);
    html_words(moves_need(first->verdict), k->out);
    fputs("</th></tr>\n<tr role=\"row\">", k->out);
    for (size_t i = 0; i < HEADINGS; i++)
        fprintf(k->out, "<th role=\"columnheader\" scope=\"col\"%s>%s</th>", heading[i][1], heading[i][0]);
    fputs("</tr></thead>\n", k->out);
}

/* What the marks of a lot need, and how many they are. */
static void
put_need(const struct stakes *k, const struct lot *lot)
{
    html_words(moves_need(lot->first->verdict), k->out);
    fprintf(k->out, " (%zu)", lot->marks);
}

/* `number` is that of the lot, from 1. */
static void
put_lot(const struct stakes *k, const struct lot *lot, size_t number)
{
    fprintf(k->out, "<h4 id=\"stakes-%zu\">", number);
    put_need(k, lot);
    fputs("</h4>\n<table role=\"table\" class=\"stakes\">\n<caption>", k->out);
    put_need(k, lot);
    fputs(", grade ", k->out);
    html_name(names_text(&k->job->r->names, k->job->grade[lot->first->grade_index].from->name), k->out);
    fputs("</caption>\n", k->out);
    put_headings(k, lot->first);
    fputs("<tbody role=\"rowgroup\">\n", k->out);
    for (size_t i = 0; i < lot->marks; i++)
        put_stake(k, &k->job->stake[lot->order[i]]);
    fputs("</tbody>\n</table>\n", k->out);
}

/* Words that a text sheet has, below a heading. */
static int
put_captured(const struct stakes *k, const struct job_grade *g)
{
    struct capture c;
    int rc = capture_open(&c);
    if (rc == 0 && g)
        sheet_grade_heading(k->job, g, &k->style, c.out);
    else if (rc == 0)
        sheet_advice(k->job, &k->style, c.out);
    if (rc == 0)
        rc = capture_close(&c);
    if (rc == 0) {
        fputs(g ? "<div class=\"before\">\n" : "", k->out);
        html_flow(&c, 0, k->out);
        fputs(g ? "</div>\n" : "", k->out);
    }
    capture_release(&c);
    return rc;
}

static void
put_note(const char *note, FILE *out)
{
    fputs("<p class=\"note\">", out);
    html_words(note, out);
    fputs("</p>\n", out);
}

/* Which set-ups a grade's marks name, and each way to go on from another one. */
static void
put_key(const struct stakes *k, const uint32_t *order, size_t n, const char *key)
{
    char anew[MOVES_ANEW];
    put_note(key, k->out);
    for (length above = MOVES_ANEW_FIRST; moves_anew(anew, k->job, order, n, &k->style, &above);)
        put_note(anew, k->out);
}

/* A grade, all its marks, and the set-ups that they name; *number counts the lots. */
static int
put_grade(const struct stakes *k, const uint32_t *order, size_t from, size_t n, size_t *number)
{
    char *key = NULL;
    int rc = put_captured(k, &k->job->grade[k->job->stake[order[from]].grade_index]);
    if (rc == 0)
        rc = moves_setups(k->job, order + from, n, &k->style, &key);
    for (struct lot lot = lot_at(k->job, order, from); rc == 0 && lot.marks > 0 && lot.order < order + from + n; lot = lot_behind(k->job, order, &lot))
        put_lot(k, &lot, ++*number);
    if (rc == 0 && key[0])
        put_key(k, order + from, n, key);
    free(key);
    return rc;
}

static int
put_grades(const struct stakes *k, const uint32_t *order)
{
    int rc = 0;
    size_t number = 0;
    for (size_t i = 0, n; rc == 0 && i < k->job->stakes; i += n) {
        n = moves_grade(k->job, order + i, k->job->stakes - i);
        rc = put_grade(k, order, i, n, &number);
    }
    return rc;
}

/* Where each lot is. */
static void
put_lots(const struct stakes *k, const uint32_t *order)
{
    size_t number = 0;
    fputs("<ul class=\"parts\">\n", k->out);
    for (struct lot lot = lot_at(k->job, order, 0); lot.marks > 0; lot = lot_behind(k->job, order, &lot)) {
        fprintf(k->out, "<li><a href=\"#stakes-%zu\">grade ", ++number);
        html_name(names_text(&k->job->r->names, k->job->grade[lot.first->grade_index].from->name), k->out);
        fputs(": ", k->out);
        put_need(k, &lot);
        fputs("</a></li>\n", k->out);
    }
    fputs("</ul>\n", k->out);
}

/* ---- what is to be seen first ---- */

#define ALERTS_MOST 8

static bool
is_amiss(const struct level_link *l)
{
    return l->within == LEVEL_BEYOND || (l->kind == LEVEL_SPUR && l->quality > LEVEL_FORCED);
}

/* Lines that are outside their limit, or that nothing closes, as sheet_closures() has them: a heading, then a line each. */
static int
put_amiss(const struct stakes *k)
{
    struct capture c;
    size_t amiss = 0;
    int rc = capture_open(&c);
    if (rc == 0)
        sheet_closures(k->job, c.out);
    if (rc == 0)
        rc = capture_close(&c);
    for (size_t i = 0; rc == 0 && i < k->job->work.links && i + 1 < c.blocks; i++) {
        if (!is_amiss(&k->job->work.link[i]) || ++amiss > ALERTS_MOST)
            continue;
        fputs("<p class=\"alert\">", k->out);
        html_words(c.text + c.block[i + 1].text, k->out);
        fputs("</p>\n", k->out);
    }
    if (amiss > ALERTS_MOST)
        fprintf(k->out, "<p class=\"alert\">and %zu more lines: the field book has all</p>\n", amiss - ALERTS_MOST);
    capture_release(&c);
    return rc;
}

static void
put_unchecked(const struct stakes *k)
{
    size_t n = 0;
    for (size_t i = 0; i < k->job->stakes; i++)
        n += k->job->stake[i].quality == LEVEL_UNCHECKED && k->job->stake[i].spot != JOB_NONE;
    if (n > 0)
        fprintf(k->out, "<p class=\"alert\">%zu of %zu marks unchecked: a wrong reading on the way to them would not show</p>\n", n, k->job->stakes);
}

static int
put_advice(const struct stakes *k)
{
    if (k->job->advice.doubts == 0)
        return 0;
    fprintf(k->out, "<h3>Can't tell, read again: %zu of %zu</h3>\n", k->job->advice.doubts, k->job->stakes);
    return put_captured(k, NULL);
}

int
html_stakes(const struct sheet_document *doc, FILE *out)
{
    struct stakes k = { doc->job, sheet_style_of(doc->job->r), out };
    if (doc->job->stakes == 0)
        return 0;
    uint32_t *order = malloc(doc->job->stakes * sizeof *order);
    int rc = order ? job_walk(doc->job, order) : -1;
    if (rc == 0)
        rc = put_amiss(&k);
    if (rc == 0) {
        put_unchecked(&k);
        put_lots(&k, order);
    }
    if (rc == 0)
        fputs("<p class=\"hint\">What you type or tick here is not kept: book the readings.</p>\n", out);
    if (rc == 0)
        rc = put_grades(&k, order);
    if (rc == 0)
        rc = put_advice(&k);
    for (size_t i = 0; rc == 0 && i < MOVES_NOTES; i++)
        put_note(moves_note[i], out);
    free(order);
    return rc;
}
