/* posts.c - holes and posts, as text and as JSON */
#include "parts.h"

#include "capture.h"
#include "writer.h"

#include "rodbook/posts.h"

#include <inttypes.h>
#include <string.h>

/* ---- words ---- */

/* A depth or a mark, all in inches or millimetres, as a plan has it: "42-1/8 in". */
static void
depth_words(char out[SHEET_WORDS], length depth, const struct sheet_style *style)
{
    char text[LENGTH_TEXT];
    length_print(text, depth, style->move);
    stpcpy(stpcpy(out, text), style->move.form == LENGTH_AS_MM ? " mm" : " in");
}

/* What a plan states, to the 1/64 in or the tenth of a mm that it may say. */
static void
stated_words(char out[SHEET_WORDS], length value, const struct sheet_style *style)
{
    struct sheet_style fine = *style;
    fine.move.parts = 64;
    fine.move.places = value % LENGTH_MM ? 1 : 0;
    depth_words(out, value, &fine);
}

static const char *
verdict_word(enum site_dig_verdict verdict)
{
    static const char *const words[] = { NULL, "deep enough", "dig", "can't tell" }; /* enum site_dig_verdict */
    return words[verdict];
}

static const char *
foot_word(enum site_dig_foot foot, bool footing)
{
    switch (foot) {
    case SITE_FOOT_TOP:
        return "footing";
    case SITE_FOOT_HOLE:
        return footing ? "footing to come" : "hole";
    case SITE_FOOT_PLANNED:
        return "as asked for";
    case SITE_FOOT_NOWHERE:
        break;
    }
    return NULL;
}

static bool
shows(length value, const struct sheet_style *style)
{
    char text[LENGTH_TEXT];
    length_print(text, value, style->move);
    return strpbrk(text, "123456789") != NULL;
}

/* ---- what is asked for ---- */

/* What is asked of a post, and of it what is not as it is of all: `all` NULL says everything. */
static void
asked_words(struct remark *out, const struct posts *p, const struct posts_asked *a, const struct posts_asked *all,
    const struct sheet_style *style)
{
    char words[SHEET_WORDS];
    bool from_grade = a->from == RECORD_FROM_GRADE, named = from_grade && a->grade != RECORD_NONE;
    bool depth = !all || a->depth != all->depth || a->from != all->from || a->to != all->to || a->grade != all->grade;
    if (a->depth >= 0 && depth) {
        stated_words(words, a->depth, style);
        remark_add(out, "%s deep from %s%s%s%s", words, from_grade ? "grade" : "the ground", named ? " " : "",
            named ? names_text(&p->job->r->names, a->grade) : "", a->footing <= 0 ? ""
                : a->to == RECORD_TO_TOP                                          ? " to the TOP of the footing"
                                                                                  : " to the bottom of the footing");
    }
    if (a->footing >= 0 && (!all || a->footing != all->footing)) {
        stated_words(words, a->footing, style);
        remark_add(out, "footing %s thick", words);
    }
    if (a->diameter >= 0 && (!all || a->diameter != all->diameter)) {
        stated_words(words, a->diameter, style);
        remark_add(out, "%s across", words);
    }
}

static void
post_words(struct remark *out, const struct posts_asked *a, const struct posts_asked *all, const struct sheet_style *style)
{
    char words[SHEET_WORDS];
    if (a->post_length >= 0 && (!all || a->post_length != all->post_length)) {
        sheet_size_words(words, a->post_length, style);
        remark_add(out, "posts of %s", words);
    }
    if (a->top >= 0 && (!all || a->top != all->top)) {
        sheet_size_words(words, a->top, style);
        if (a->top == 0)
            remark_add(out, "tops at grade");
        else
            remark_add(out, "tops %s above grade", words);
    }
}

static void
source_line(const struct posts *p, uint32_t source, const char *indent, FILE *out)
{
    tell_line(out, indent, "      ", "source: %s",
        source == RECORD_NONE ? "NOT STATED; ask who says so, and write it down" : names_text(&p->job->r->texts, source));
}

static void
own_lines(const struct posts *p, const struct posts_one *one, const struct sheet_style *style, FILE *out)
{
    struct remark own = { 0 };
    asked_words(&own, p, &one->asked, &p->asked, style);
    post_words(&own, &one->asked, &p->asked, style);
    tell_line(out, "  ", "    ", "%s: %s", names_text(&p->job->r->names, one->at), own.used > 0 ? own.text : "as all");
    if (one->asked.depth >= 0 && one->asked.source != p->asked.source)
        source_line(p, one->asked.source, "    ", out);
}

static void
asked_lines(const struct posts *p, const struct sheet_style *style, FILE *out)
{
    struct remark hole = { 0 }, post = { 0 };
    asked_words(&hole, p, &p->asked, NULL, style);
    post_words(&post, &p->asked, NULL, style);
    fputc('\n', out);
    tell_line(out, "", "  ", "Asked for: %s", hole.used > 0 ? hole.text : "nothing is stated of all holes");
    if (post.used > 0)
        tell_line(out, "  ", "    ", "%s", post.text);
    if (p->asked.depth >= 0)
        source_line(p, p->asked.source, "  ", out);
    for (size_t i = 0; i < p->n; i++)
        if (p->one[i].asked.own)
            own_lines(p, &p->one[i], style, out);
}

/* ---- holes ---- */

static const char *
sigma_heading(const struct sheet_style *style)
{
    return style->move.form == LENGTH_AS_MM ? "+- mm" : "+- in";
}

static void
level_cell(struct table *t, bool known, length value, const struct sheet_style *style)
{
    if (known)
        table_length(t, value, style->adjusted);
    else
        table_cell(t, "-");
}

static void
depth_cell(struct table *t, const struct site_dig_level *depth, const struct sheet_style *style)
{
    char words[SHEET_WORDS];
    if (depth->known)
        depth_words(words, depth->at, style);
    table_cell(t, depth->known ? words : "-");
}

static void
sigma_cell(struct table *t, double sigma, const struct sheet_style *style)
{
    char words[SHEET_WORDS];
    sheet_sigma_words(words, sigma, style);
    table_cell(t, words);
}

static void
hole_verdict(char out[SHEET_WORDS], const struct posts_one *one, const struct sheet_style *style)
{
    char words[SHEET_WORDS];
    const struct site_dig *d = &one->dig;
    if (d->verdict == SITE_DIG_NOTHING) {
        stpcpy(out, one->level[POSTS_HOLE].spot == JOB_NONE ? "not dug" : "-");
        return;
    }
    stpcpy(out, verdict_word(d->verdict));
    if (d->verdict != SITE_DIG_DEEPER)
        return;
    sheet_size_words(words, d->dig, style);
    if (d->by_top)
        stpcpy(stpcpy(out, words), " too high");
    else
        stpcpy(stpcpy(stpcpy(out, "dig "), words), " more");
}

static void
missing_remark(const struct posts_one *one, enum posts_read which, const char *what, struct remark *remark)
{
    const struct posts_level *l = &one->level[which];
    if (l->spot == JOB_NONE)
        remark_add(remark, "%s unread", what);
    else if (l->adrift)
        remark_add(remark, "%s hangs on nothing", what);
}

static void
over_remark(const struct posts_one *one, const struct sheet_style *style, struct remark *remark)
{
    char words[SHEET_WORDS];
    const struct site_dig *d = &one->dig;
    if (d->verdict == SITE_DIG_NOTHING || d->verdict == SITE_DIG_DEEPER || !shows(d->over.at, style))
        return;
    sheet_size_words(words, d->over.at, style);
    if (d->over.at < 0)
        remark_add(remark, "reads %s short", words);
    else
        remark_add(remark, "%s to spare", words);
}

static bool
is_outside(const struct posts_one *one)
{
    return one->level[POSTS_GROUND].outside || one->level[POSTS_HOLE].outside || one->level[POSTS_TOP].outside;
}

/* A hole that was read, and that nothing can be told from. */
static bool
is_read_in_vain(const struct posts_one *one)
{
    return one->level[POSTS_HOLE].spot != JOB_NONE && !one->level[POSTS_HOLE].usable;
}

static void
hole_remarks(const struct posts_one *one, bool any_ground, const struct sheet_style *style, struct remark *remark)
{
    over_remark(one, style, remark);
    if (any_ground)
        missing_remark(one, POSTS_GROUND, "ground", remark);
    if (one->level[POSTS_HOLE].spot != JOB_NONE)
        missing_remark(one, POSTS_HOLE, "hole", remark);
    if (is_outside(one))
        remark_add(remark, "levels OUTSIDE their limit");
    if (one->asked.depth >= 0 && !one->has_depth_from && one->asked.from == RECORD_FROM_GRADE)
        remark_add(remark, "no grade to measure from");
    if (one->level[POSTS_HOLE].far_apart)
        remark_add(remark, "its readings disagree: dug on in between?");
    if (one->dig.by_top)
        remark_add(remark, "judged by the footing's top");
    if (one->too_long)
        remark_add(remark, "longer than the rod");
    if (one->rod_leg != LEVEL_NONE && !one->has_rod)
        remark_add(remark, "above the line of sight");
    if (one->quality == LEVEL_UNCHECKED)
        remark_add(remark, "unchecked");
    if (one->quality == LEVEL_FORCED)
        remark_add(remark, "levels OUTSIDE their limit, spread as asked");
}

static bool
is_ground_read(const struct posts *p)
{
    for (size_t i = 0; i < p->n; i++)
        if (p->one[i].level[POSTS_GROUND].spot != JOB_NONE)
            return true;
    return false;
}

static int
holes_table(const struct posts *p, const struct sheet_style *style, FILE *out)
{
    const struct table_column columns[] = { { "post", false, false }, { "ground", true, false }, { "bottom", true, false },
        { "depth", true, false }, { "the hole", false, false }, { sigma_heading(style), true, false }, { "rod", true, false },
        { "set-up", false, false }, { "remarks", false, false } };
    struct table t;
    bool any_ground = is_ground_read(p);
    table_open(&t, columns, sizeof columns / sizeof columns[0]);
    for (size_t i = 0; i < p->n; i++) {
        const struct posts_one *one = &p->one[i];
        char words[SHEET_WORDS];
        struct remark remark = { 0 };
        table_cell(&t, names_text(&p->job->r->names, one->at));
        level_cell(&t, one->level[POSTS_GROUND].usable, one->level[POSTS_GROUND].at, style);
        level_cell(&t, one->level[POSTS_HOLE].usable, one->level[POSTS_HOLE].at, style);
        depth_cell(&t, &one->dig.below_ground, style);
        hole_verdict(words, one, style);
        table_cell(&t, words);
        sigma_cell(&t, one->over_sigma >= 0 ? one->over_sigma : one->below_ground_sigma, style);
        if (one->has_rod)
            table_length(&t, one->rod_read, style->elevation);
        else
            table_cell(&t, one->asked.depth >= 0 ? "-" : NULL);
        if (one->has_rod)
            setup_name(words, p->job, one->rod_leg);
        table_cell(&t, one->has_rod ? words : NULL);
        hole_remarks(one, any_ground, style, &remark);
        table_cell(&t, remark.text);
    }
    fputs("\nHoles\n", out);
    if (!any_ground)
        fputs("  ground unread at every post: book it there, on: ground\n", out);
    return table_print(&t, out);
}

/* ---- posts ---- */

static void
post_remarks(const struct posts *p, const struct posts_one *one, struct remark *remark)
{
    if (!one->has_grade)
        remark_add(remark, "%s", one->no_place ? "no x and y, so no grade here"
                : p->grade == JOB_NONE         ? "no grade serves posts"
                                               : "the grade has no elevation to give");
    if (one->has_grade && one->dig.foot == SITE_FOOT_NOWHERE)
        remark_add(remark, "%s", is_outside(one) ? "levels OUTSIDE their limit"
                : is_read_in_vain(one)           ? "its hole has no elevation"
                : one->asked.depth < 0           ? "no hole, and no depth asked for"
                                                 : "no hole, and nothing to measure its depth from");
    if (one->dig.top_is_post)
        remark_add(remark, "the top that was read is the post's own");
    if (one->dig.mark.known && one->dig.mark.at <= 0)
        remark_add(remark, "THE FOOT IS NOT BELOW GRADE");
}

static void
cut_cell(struct table *t, const struct posts_one *one, const struct sheet_style *style)
{
    char words[SHEET_WORDS + 8];
    if (!one->dig.cut_off.known) {
        table_cell(t, one->asked.post_length >= 0 && one->asked.top >= 0 ? "-" : NULL);
        return;
    }
    bool too_short = one->dig.cut_off.at < 0;
    char *at = too_short ? stpcpy(words, "SHORT ") : words, size[SHEET_WORDS];
    sheet_size_words(size, one->dig.cut_off.at, style);
    stpcpy(at, size);
    table_cell(t, words);
}

static int
posts_table(const struct posts *p, const struct sheet_style *style, FILE *out)
{
    const struct table_column columns[] = { { "post", false, false }, { "grade", true, false }, { "below grade", true, false },
        { "stands on", false, false }, { "mark", true, false }, { sigma_heading(style), true, false }, { "length", true, false },
        { "cut off", true, false }, { "remarks", false, false } };
    struct table t;
    table_open(&t, columns, sizeof columns / sizeof columns[0]);
    for (size_t i = 0; i < p->n; i++) {
        const struct posts_one *one = &p->one[i];
        char words[SHEET_WORDS];
        struct remark remark = { 0 };
        const char *foot = foot_word(one->dig.foot, one->given.footing > 0);
        table_cell(&t, names_text(&p->job->r->names, one->at));
        level_cell(&t, one->has_grade, one->grade, style);
        depth_cell(&t, &one->dig.below_grade, style);
        table_cell(&t, foot ? foot : "-");
        depth_cell(&t, &one->dig.mark, style);
        sigma_cell(&t, one->mark_sigma, style);
        if (one->dig.need.known)
            sheet_size_words(words, one->dig.need.at, style);
        table_cell(&t, one->dig.need.known ? words : one->asked.top >= 0 ? "-" : NULL);
        cut_cell(&t, one, style);
        post_remarks(p, one, &remark);
        table_cell(&t, remark.text);
    }
    fputs("\nPosts\n", out);
    return table_print(&t, out);
}

/* ---- the sheet ---- */

static void
count_line(const struct posts *p, FILE *out)
{
    if (p->read == 0) {
        fputs("\nNo hole is read yet: marks are as they will be at the depth asked for.\n", out);
        return;
    }
    struct remark line = { 0 };
    size_t vain = 0;
    for (size_t i = 0; i < p->n; i++)
        vain += is_read_in_vain(&p->one[i]);
    if (p->enough > 0 || p->deeper + p->doubt + vain == 0)
        remark_add(&line, "%zu deep enough", p->enough);
    if (p->deeper > 0)
        remark_add(&line, "%zu to be dug deeper", p->deeper);
    if (p->doubt > 0)
        remark_add(&line, "%zu can't tell: read again, or dig on", p->doubt);
    if (vain > 0)
        remark_add(&line, "%zu without an elevation to use: close the levels first", vain);
    fprintf(out, "\n%zu of %zu hole%s read: %s\n", p->read, p->n, p->n == 1 ? "" : "s", line.text);
}

static void
notes(const struct posts *p, FILE *out)
{
    if (p->no_sigma)
        fputs("\nNo standard deviations; a warning says why. Holes are taken as they read.\n", out);
    fprintf(out, "\nDepth: bottom of the hole below the ground. Rod: read this or more on the bottom, from the set-up\n"
          "named, and it is deep enough beyond doubt. Mark: grade above what the post's foot stands on. +-:\n"
          "standard deviations, of what is judged and of the mark. A hole that was dug on is read again as\n"
          "%s. Loose soil in a hole that is too deep is no footing: fill it as the plan says, and read\n"
          "what the post will stand on.\n"
          "\nHave buried services located and marked before any hole is dug; dig by hand near the marks. Cover\n"
          "or fence every open hole. Brace each post both ways before letting go of it. Depth, frost and\n"
          "footings follow the local code and the plan: nothing here is designed.\n",
        capture_words(out, "moved", "moved: true"));
}

int
sheet_posts(const struct posts *p, FILE *out)
{
    struct sheet_style style = sheet_style_of(p->job->r);
    sheet_title(p->job, "Holes and posts", out);
    sheet_closures(p->job, out);
    if (p->grade != JOB_NONE)
        sheet_grade_heading(p->job, &p->job->grade[p->grade], &style, out);
    asked_lines(p, &style, out);
    if (holes_table(p, &style, out) != 0 || posts_table(p, &style, out) != 0)
        return -1;
    count_line(p, out);
    notes(p, out);
    return 0;
}

/* ---- as JSON ---- */

static void
put_level(struct writer *w, const char *written, size_t n, const struct site_dig_level *level)
{
    number(w, written, n, level->known, level->at);
}

static void
put_asked(struct writer *w, const struct posts *p, const struct posts_asked *a)
{
    static const char *const from[] = { "ground", "grade" }, *const to[] = { "bottom", "top" };
    number(w, KEY("depth"), a->depth >= 0, a->depth);
    text(w, KEY("from"), a->from < 0 ? NULL : from[a->from]);
    text(w, KEY("from_grade"), a->from == RECORD_FROM_GRADE && a->grade != RECORD_NONE ? names_text(&p->job->r->names, a->grade) : NULL);
    text(w, KEY("to"), a->to < 0 ? NULL : to[a->to]);
    number(w, KEY("footing"), a->footing >= 0, a->footing);
    number(w, KEY("diameter"), a->diameter >= 0, a->diameter);
    number(w, KEY("top"), a->top >= 0, a->top);
    number(w, KEY("post_length"), a->post_length >= 0, a->post_length);
    text(w, KEY("source"), a->source == RECORD_NONE ? NULL : names_text(&p->job->r->texts, a->source));
}

static void
put_missing(struct writer *w, const struct posts_one *one)
{
    const bool lacks[] = { !one->level[POSTS_GROUND].usable, !one->level[POSTS_HOLE].usable, !one->has_grade };
    static const char *const words[] = { "ground", "hole", "grade" };
    open_list(w, KEY("missing"));
    for (size_t i = 0; i < sizeof lacks / sizeof lacks[0]; i++) {
        if (!lacks[i])
            continue;
        put(w, w->comma ? "," : "");
        writer_quote(w, words[i]);
        w->comma = true;
    }
    close_list(w);
}

static void
put_post(struct writer *w, const struct posts *p, const struct posts_one *one)
{
    static const char *const feet[] = { NULL, "footing", "hole", "planned" }; /* enum site_dig_foot */
    const struct site_dig *d = &one->dig;
    char setup[SHEET_WORDS];
    if (one->has_rod)
        setup_name(setup, p->job, one->rod_leg);
    open_object(w);
    text(w, KEY("at"), names_text(&p->job->r->names, one->at));
    number(w, KEY("ground"), one->level[POSTS_GROUND].usable, one->level[POSTS_GROUND].at);
    number(w, KEY("grade"), one->has_grade, one->grade);
    number(w, KEY("hole"), one->level[POSTS_HOLE].usable, one->level[POSTS_HOLE].at);
    number(w, KEY("footing_top"), one->level[POSTS_TOP].usable && !d->top_is_post, one->level[POSTS_TOP].at);
    put_missing(w, one);
    open_member(w, KEY("asked"));
    put_asked(w, p, &one->asked);
    close_object(w);
    put_level(w, KEY("below_ground"), &d->below_ground);
    deviation(w, KEY("below_ground_sigma"), one->below_ground_sigma);
    put_level(w, KEY("below_grade"), &d->below_grade);
    deviation(w, KEY("below_grade_sigma"), one->below_grade_sigma);
    put_level(w, KEY("bottom"), &d->bottom);
    put_level(w, KEY("over"), &d->over);
    deviation(w, KEY("over_sigma"), one->over_sigma);
    text(w, KEY("judged_by"), !d->over.known ? NULL : d->by_top ? "footing" : "hole");
    number(w, KEY("dig"), d->over.known, d->dig);
    number(w, KEY("deeper_than_asked"), d->over.known, d->fill);
    text(w, KEY("verdict"), verdict_word(d->verdict));
    number(w, KEY("rod"), one->has_rod, one->rod);
    number(w, KEY("rod_read"), one->has_rod, one->rod_read);
    truth(w, KEY("longer_than_rod"), one->has_rod, one->too_long);
    text(w, KEY("setup"), one->has_rod ? setup : NULL);
    text(w, KEY("stands_on"), feet[d->foot]);
    put_level(w, KEY("stands_at"), &d->stands_at);
    put_level(w, KEY("mark"), &d->mark);
    deviation(w, KEY("mark_sigma"), one->mark_sigma);
    put_level(w, KEY("length"), &d->need);
    put_level(w, KEY("cut_off"), &d->cut_off);
    text(w, KEY("closure"), sheet_quality_word(one->quality));
    close_object(w);
}

int
sheet_posts_data(const struct posts *p, const struct sheet_table *table, FILE *out)
{
    const struct record *r = p->job->r;
    struct writer w;
    writer_open(&w, table, out, r->job.unit);
    writer_begin(&w, "rodbook/posts/1", r);
    text(&w, KEY("line"), p->grade == JOB_NONE ? NULL : names_text(&r->names, p->job->grade[p->grade].from->name));
    open_member(&w, KEY("asked"));
    put_asked(&w, p, &p->asked);
    close_object(&w);
    count(&w, KEY("read"), true, p->read);
    count(&w, KEY("enough"), true, p->enough);
    count(&w, KEY("deeper"), true, p->deeper);
    count(&w, KEY("doubt"), true, p->doubt);
    truth(&w, KEY("good"), true, p->good);
    open_list(&w, KEY("posts"));
    for (size_t i = 0; i < p->n; i++)
        put_post(&w, p, &p->one[i]);
    close_list(&w);
    put(&w, "}\n");
    return writer_close(&w);
}
