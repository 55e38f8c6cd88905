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

static void
put_move(const struct stakes *k, const struct job_stake *s)
{
    char words[SHEET_WORDS], sure[SHEET_WORDS];
    const char *shape = shape_word(s);
    moves_words(words, s, &k->style);
    sheet_sure_words(sure, s->sigma, &k->style);
    bool known = s->sigma >= 0;
    fprintf(k->out, "<td role=\"cell\" class=\"move %s\"><svg xmlns=\"http://www.w3.org/2000/svg\" class=\"shape\" aria-hidden=\"true\" focusable=\"false\">"
        "<use href=\"#shape-%s\"/></svg> <strong>", shape, shape);
    html_words(words, k->out);
    fputs("</strong>", k->out);
    if (known) {
        fputs(" <span class=\"more\">+- ", k->out);
        canvas_escape(sure, k->out);
        fputs("</span>", k->out);
    }
    fputs("</td>\n", k->out);
}

static void
put_rod(const struct stakes *k, const struct job_stake *s)
{
    char rod[LENGTH_TEXT] = "-", leg[SHEET_WORDS];
    if (s->has_rod)
        length_print(rod, s->grade_rod, k->style.elevation);
    fputs("<td role=\"cell\" class=\"n rod\" data-label=\"grade rod\"><strong>", k->out);
    html_words(rod, k->out);
    fputs("</strong>", k->out);
    if (s->has_rod) {
        setup_name(leg, k->job, s->rod_leg);
        fprintf(k->out, " <span class=\"more\">from %s</span>", leg);
    }
    fputs("</td>\n", k->out);
}

/* Cut or fill, and below it where the mark is and where it belongs. */
static void
put_cut(const struct stakes *k, const struct job_stake *s)
{
    char text[SHEET_WORDS];
    moves_cut(text, s, &k->style);
    fputs("<td role=\"cell\" class=\"n\" data-label=\"cut or fill\">", k->out);
    html_words(text[0] ? text : "-", k->out);
    fputs(" <span class=\"more\">", k->out);
    moves_levels(text, s, &k->style);
    html_words(text, k->out);
    fputs("</span></td>\n", k->out);
}

static void
put_remarks(const struct stakes *k, const struct job_stake *s)
{
    struct remark remark = { 0 };
    sheet_stake_remarks(k->job, s, &k->style, &remark);
    fputs("<td role=\"cell\" class=\"remarks\">", k->out);
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

/* ---- the sheet ---- */

static void
put_headings(FILE *out)
{
    static const char *const heading[][2] = { { "mark", "" }, { "move", "" }, { "grade rod", " class=\"n\"" }, { "cut or fill, now to grade", " class=\"n\"" },
        { "remarks", " class=\"remarks\"" }, { "reads after", "" }, { "done", "" } };
    fputs("<thead role=\"rowgroup\"><tr role=\"row\">", out);
    for (size_t i = 0; i < sizeof heading / sizeof heading[0]; i++)
        fprintf(out, "<th role=\"columnheader\" scope=\"col\"%s>%s</th>", heading[i][1], heading[i][0]);
    fputs("</tr></thead>\n", out);
}

static void
put_lot(const struct stakes *k, const uint32_t *order, size_t n)
{
    const struct job_stake *first = &k->job->stake[order[0]];
    fputs("<table role=\"table\" class=\"stakes\">\n<caption>", k->out);
    canvas_escape(moves_need(first->verdict), k->out);
    fprintf(k->out, " (%zu)<span class=\"sr\">, grade ", n);
    html_name(names_text(&k->job->r->names, k->job->grade[first->grade_index].from->name), k->out);
    fputs("</span></caption>\n", k->out);
    put_headings(k->out);
    fputs("<tbody role=\"rowgroup\">\n", k->out);
    for (size_t i = 0; i < n; i++)
        put_stake(k, &k->job->stake[order[i]]);
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
    if (rc == 0)
        html_flow(&c, 0, k->out);
    capture_release(&c);
    return rc;
}

/* Marks of one grade that need the same, from order[0] on. */
static size_t
lot_size(const struct job *job, const uint32_t *order, size_t n)
{
    const struct job_stake *first = &job->stake[order[0]];
    size_t same = 1;
    while (same < n && job->stake[order[same]].grade_index == first->grade_index && job->stake[order[same]].verdict == first->verdict)
        same++;
    return same;
}

static int
put_grades(const struct stakes *k, const uint32_t *order)
{
    uint32_t grade = JOB_NONE;
    for (size_t i = 0, n; i < k->job->stakes; i += n) {
        uint32_t next = k->job->stake[order[i]].grade_index;
        if (next != grade && put_captured(k, &k->job->grade[next]) != 0)
            return -1;
        grade = next;
        n = lot_size(k->job, order + i, k->job->stakes - i);
        put_lot(k, order + i, n);
    }
    return 0;
}

static int
put_advice(const struct stakes *k)
{
    if (k->job->advice.doubts == 0)
        return 0;
    fprintf(k->out, "<h3>Can't tell, read again: %zu of %zu</h3>\n", k->job->advice.doubts, k->job->stakes);
    return put_captured(k, NULL);
}

static void
put_note(const char *note, FILE *out)
{
    fputs("<p class=\"note\">", out);
    canvas_escape(note, out);
    fputs("</p>\n", out);
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
