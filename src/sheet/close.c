/* close.c - the closing sheet: how each misclosure was spread */
#include "parts.h"

#include <string.h>

static const struct table_column columns[] = { { "set-up", false, false }, { "from", false, false }, { "to", false, false }, { "rise", true, false },
    { "sight lengths", true, false }, { "running correction", true, false }, { "adjusted", true, false } };

static void
leg_row(const struct job *job, uint32_t l, const struct level_link *link, const struct sheet_style *style, struct table *t)
{
    const struct level_leg *leg = &job->leg[l];
    char words[SHEET_WORDS * 2], text[LENGTH_TEXT + 1];
    setup_name(words, job, l);
    table_cell(t, words);
    spot_words(words, job, leg->from, NO_FROM);
    table_cell(t, words);
    if (leg->to == LEVEL_NONE) {
        spot_words(words, job, leg->count > 1 ? job->sight[leg->first + leg->count - 1].spot : LEVEL_NONE,
            NO_TO);
        table_cell(t, words);
        table_cell(t, NULL);
        table_cell(t, NULL);
        table_cell(t, NULL);
        table_cell(t, NULL);
        return;
    }
    spot_words(words, job, leg->to, NO_TO);
    table_cell(t, words);
    signed_length(text, leg->rise, style->elevation);
    table_cell(t, leg->from == LEVEL_NONE ? NULL : text);
    length_print(text, leg->dist, sheet_distance(style));
    table_cell(t, leg->dist > 0 ? text : NULL);
    signed_length(text, leg->correction, style->adjusted);
    table_cell(t, link->spread ? text : NULL);
    length back = leg->count > 0 ? job->sight[leg->first + leg->count - 1].reading : 0;
    bool fitted = job->spread == RECORD_SPREAD_LEAST_SQUARES; /* then the line of sight misses the point by a residual */
    length_print(text, fitted ? job->level_spot[leg->to].value : leg->hi - back, style->adjusted);
    table_cell(t, link->quality == LEVEL_OUTSIDE ? NULL : text);
}

static int
link_table(const struct job *job, const struct level_link *link, const struct sheet_style *style, FILE *out)
{
    char from[SHEET_WORDS * 2], to[SHEET_WORDS * 2];
    struct table t;
    spot_words(from, job, link->from, NO_FROM);
    spot_words(to, job, link->to, NO_TO);
    table_open(&t, columns, sizeof columns / sizeof columns[0]);
    for (uint32_t i = 0; i < link->count; i++)
        leg_row(job, job->work.order[link->first + i], link, style, &t);
    static const char *const headings[] = { "\nLoop ", "\nLink ", "\nSpur, unchecked: ", "\nClosed by other lines: " };
    int which = link->kind == LEVEL_SPUR && link->quality <= LEVEL_FORCED ? 3 : (int)link->kind;
    char heading[SHEET_WORDS * 5];
    stpcpy(stpcpy(stpcpy(stpcpy(stpcpy(heading, headings[which]), from), " to "), to), "\n");
    fputs(heading, out);
    return table_print(&t, out);
}

int
sheet_close(const struct job *job, FILE *out)
{
    struct sheet_style style = sheet_style_of(job->r);
    sheet_title(job, "Closure and spread", out);
    fprintf(out, "spread by %s; %s\n", sheet_spread_words(job->spread), job->spread == RECORD_SPREAD_LEAST_SQUARES
        ? "running correction of a turning point: adjusted less carried along the line"
        : "an intermediate sight takes the running correction of its set-up");
    sheet_closures(job, out);
    for (size_t i = 0; i < job->work.links; i++)
        if (link_table(job, &job->work.link[i], &style, out) != 0)
            return -1;
    return sheet_points(job, out);
}

void
sheet_all_closures(const struct job *job, FILE *out)
{
    sheet_closures(job, out);
}
