/* grades.c - the grades that could be, for people and as JSON */
#include "parts.h"
#include "writer.h"

#include "rodbook/grades.h"

#include <inttypes.h>
#include <math.h>
#include <string.h>

#define CUBIC_YARD_M3 0.764554857984 /* 27 ft3 of 0.3048 m */
#define SQUARE_FOOT_M2 0.09290304

static const char *
shot_name(const struct grades *g, uint32_t shot)
{
    return spot_name(g->job, g->shot[shot].spot);
}

static const char *
post_name(const struct grades *g, uint32_t post)
{
    return names_text(&g->job->r->names, g->post[post].name);
}

static bool
is_metric(const struct grades *g)
{
    return g->job->r->job.unit == LENGTH_BARE_M;
}

/* ---- quantities in words ---- */

static void
volume_words(char out[SHEET_WORDS], const struct grades *g, double m3)
{
    if (is_metric(g))
        snprintf(out, SHEET_WORDS, "%.2f", m3);
    else
        snprintf(out, SHEET_WORDS, "%.1f", m3 / CUBIC_YARD_M3);
}

static void
area_words(char out[SHEET_WORDS], const struct grades *g, double m2)
{
    if (is_metric(g))
        snprintf(out, SHEET_WORDS, "%.1f", m2);
    else
        snprintf(out, SHEET_WORDS, "%.0f", m2 / SQUARE_FOOT_M2);
}

static void
ratio_words(char out[SHEET_WORDS], struct site_ratio r)
{
    int64_t rise = r.rise < 0 ? -r.rise : r.rise;
    if (rise == 0)
        snprintf(out, SHEET_WORDS, "level");
    else
        snprintf(out, SHEET_WORDS, "1 in %.6g", (double)r.run / (double)rise);
}

/* A distance with its unit: "8.0 ft". */
static void
distance_words(char out[SHEET_WORDS], length distance, const struct sheet_style *style)
{
    char text[LENGTH_TEXT];
    length_print(text, distance, sheet_distance(style));
    snprintf(out, SHEET_WORDS, "%s %s", text, style->elevation.form == LENGTH_AS_M ? "m" : "ft");
}

/* A length as it was given, never rounded away: "6 in", "150 mm". */
static void
given_words(char out[SHEET_WORDS], length given, const struct sheet_style *style)
{
    struct sheet_style fine = *style;
    fine.move.parts = 64;
    fine.move.places = given % LENGTH_MM ? 2 : 0;
    sheet_size_words(out, given, &fine);
}

/* ---- what it stands on ---- */

static const char *
outline_words(enum grades_outline outline)
{
    static const char *const words[] = { "from the site entry", "about its corner points", "about its posts",
        "not known: taken as the rectangle about the ground shots" }; /* enum grades_outline */
    return words[outline];
}

/* "falls 0.380 +- 0.041 over the length (1 in 63)" */
static void
own_slope(const struct grades *g, int which, double slope, const struct sheet_style *style, FILE *out)
{
    char up[LENGTH_TEXT], sure[LENGTH_TEXT];
    length size = g->up[which] < 0 ? -g->up[which] : g->up[which];
    length_print(up, size, style->adjusted);
    fprintf(out, "%s %s", slope < 0 ? "falls" : "rises", up);
    if (g->up_sigma[which] >= 0) {
        length_print(sure, (length)(g->up_sigma[which] * (double)LENGTH_M + 0.5), style->adjusted);
        fprintf(out, " +- %s", sure);
    }
    fprintf(out, " over the %s", which ? "width" : "length");
    if (fabs(slope) > 1e-4)
        fprintf(out, " (1 in %.0f)", 1 / fabs(slope));
}

static void
own_plane(const struct grades *g, const struct sheet_style *style, FILE *out)
{
    char scatter[LENGTH_TEXT];
    if (!g->has_plane)
        return;
    fputs("  The plane that fits it best ", out);
    own_slope(g, 0, g->plane.along, style, out);
    fputs("\n  and ", out);
    own_slope(g, 1, g->plane.across, style, out);
    if (g->scatter >= 0) {
        length_print(scatter, (length)(g->scatter * (double)LENGTH_M + 0.5), style->adjusted);
        fprintf(out, "; the shots scatter +- %s about it", scatter);
    }
    fputs("\n", out);
}

static void
posts_line(const struct grades *g, FILE *out)
{
    size_t listed = 0;
    if (g->between > 0)
        fprintf(out, "  The ground at %zu of %zu posts was not shot: it is taken from the surface between the shots.\n", g->between, g->posts);
    if (g->unknown == 0)
        return;
    fprintf(out, "  No ground is known at %zu of %zu posts, and nothing is said of their holes:", g->unknown, g->posts);
    for (size_t i = 0; i < g->posts && listed < 8; i++)
        if (!g->post[i].ground)
            fprintf(out, "%s %s", listed++ ? "," : "", post_name(g, (uint32_t)i));
    fprintf(out, "%s\n  Shoot the ground there, or all round it.\n", g->unknown > listed ? " ..." : ".");
}

static void
left_line(const struct grades *g, FILE *out)
{
    if (g->left == 0)
        return;
    fprintf(out, "  NOT USED, for want of x and y, or on levels outside their limit:");
    for (size_t i = 0; i < g->left && i < 8; i++)
        fprintf(out, "%s %s", i ? "," : "", spot_name(g->job, g->left_out[i]));
    fprintf(out, "%s\n", g->left > 8 ? " ..." : "");
}

static void
unchecked_line(const struct grades *g, FILE *out)
{
    size_t n = 0;
    for (size_t i = 0; i < g->shots; i++)
        n += g->shot[i].quality == LEVEL_UNCHECKED;
    if (n > 0)
        fprintf(out, "  %zu of %zu ground shots hang on readings that nothing checks (UNCHECKED).\n", n, g->shots);
    if (g->no_sigma)
        fputs("  No standard deviations: a section says neither sigma nor set-ups. Levels are taken as they read.\n", out);
}

static void
ground_lines(const struct grades *g, const struct sheet_style *style, FILE *out)
{
    const struct site_rectangle *b = &g->building;
    char along[SHEET_WORDS], across[SHEET_WORDS], high[LENGTH_TEXT], low[LENGTH_TEXT], covered[SHEET_WORDS], area[SHEET_WORDS];
    distance_words(along, b->to.x - b->from.x, style);
    distance_words(across, b->to.y - b->from.y, style);
    fprintf(out, "\nBuilding: %s by %s, %s\n", along, across, outline_words(g->outline));
    length_print(high, g->shot[g->highest].elevation, style->adjusted);
    length_print(low, g->shot[g->lowest].elevation, style->adjusted);
    fprintf(out, "Ground: %zu shots, %zu of them for the building, %zu within 10 ft outside it\n  highest %s %s, lowest %s %s\n", g->shots,
        g->on, g->near, shot_name(g, g->highest), high, shot_name(g, g->lowest), low);
    area_words(covered, g, g->covered);
    area_words(area, g, g->area);
    bool whole = g->covered > 0.995 * g->area;
    if (g->outline == GRADES_OF_SHOTS)
        fprintf(out, "  cut, fill and balance are of the %s %s between them\n", covered, is_metric(g) ? "m2" : "ft2");
    else
        tell_line(out, "  ", "    ", "%s%s of %s %s of the building lie between shots%s", whole ? "" : "ONLY ", covered, area,
            is_metric(g) ? "m2" : "ft2", whole ? "" : ": cut, fill and balance are of that part");
    own_plane(g, style, out);
    unchecked_line(g, out);
    left_line(g, out);
    posts_line(g, out);
}

/* ---- the table ---- */

static void
water_words(char out[SHEET_WORDS], const struct grades *g, const struct grades_candidate *c)
{
    if (c->wettest == JOB_NONE)
        snprintf(out, SHEET_WORDS, "-");
    else if (c->wet > 0)
        snprintf(out, SHEET_WORDS, "WET at %zu of %zu", c->wet, g->near);
    else if (c->doubtful > 0)
        snprintf(out, SHEET_WORDS, "can't tell");
    else
        snprintf(out, SHEET_WORDS, "runs off");
}

static void
length_cell(struct table *t, bool known, length value, struct length_style style)
{
    if (known)
        table_length(t, value, style);
    else
        table_cell(t, "-");
}

static void
slope_cell(struct table *t, enum grades_kind kind, const struct grades_candidate *c)
{
    char ratio[SHEET_WORDS], words[SHEET_WORDS * 2];
    ratio_words(ratio, c->slope);
    snprintf(words, sizeof words, "%s%s%s", c->slope.rise < 0 ? "falls " : c->slope.rise > 0 ? "rises " : "", ratio,
        c->slope.rise == 0 ? "" : kind == GRADES_LENGTH ? " to +x" : " to +y");
    table_cell(t, words);
}

static void
candidate_row(const struct grades *g, int kind, const struct sheet_style *style, struct table *t)
{
    const struct grades_candidate *c = &g->candidate[kind];
    char words[SHEET_WORDS];
    put_count(words, (uint64_t)kind + 1);
    table_cell(t, words);
    if (c->lack != GRADES_THERE) {
        for (int i = 0; i < 9; i++)
            table_cell(t, "-");
        return;
    }
    table_length(t, c->level, style->elevation);
    slope_cell(t, (enum grades_kind)kind, c);
    length_cell(t, c->cut_shot != JOB_NONE, c->cut, style->elevation);
    length_cell(t, c->fill_shot != JOB_NONE, c->fill, style->elevation);
    volume_words(words, g, c->earth.cut);
    table_cell(t, c->earth.area > 0 ? words : "-");
    volume_words(words, g, c->earth.fill);
    table_cell(t, c->earth.area > 0 ? words : "-");
    length_cell(t, c->hole_post != JOB_NONE, c->hole, style->elevation);
    length_cell(t, c->post_post != JOB_NONE, c->post, style->elevation);
    water_words(words, g, c);
    table_cell(t, words);
}

static int
candidate_table(const struct grades *g, const struct sheet_style *style, FILE *out)
{
    const struct table_column ft[] = { { "no", true, false }, { "grade", true, false }, { "slope", false, false }, { "cut", true, false },
        { "fill", true, false }, { "cut yd3", true, false }, { "fill yd3", true, false }, { "hole", true, false }, { "post", true, false },
        { "water", true, false } };
    struct table_column columns[sizeof ft / sizeof *ft];
    struct table t;
    memcpy(columns, ft, sizeof ft);
    if (is_metric(g)) {
        columns[5].heading = "cut m3";
        columns[6].heading = "fill m3";
    }
    fputc('\n', out);
    table_open(&t, columns, sizeof columns / sizeof *columns);
    for (int k = 0; k < GRADES_KINDS; k++)
        candidate_row(g, k, style, &t);
    return table_print(&t, out);
}

/* ---- each in words ---- */

/* Why a candidate is not there, and what to do. */
const char *
sheet_grade_lack(enum grades_lack lack)
{
    static const char *const words[] = { "", "no ground between the shots lies on the building; shoot its ground on a grid",
        "only level grades are wanted (--slope-most 0)", "the ground slopes by less than the rod's least division that way; a level is it",
        "the ground shots on the building do not show a slope that way; shoot more beside them",
        "no post has x and y in points", "nothing says how deep the posts stand; add a holes entry, or say --depth and --post-length",
        "nothing says how long the posts are; add post-length to the holes entry, or say --post-length",
        "no ground is known at any post; shoot it there, or all round",
        "depths are measured from grade and the posts are long enough for any; the ground does not limit it",
        "depths are measured from grade, and a post is shorter than its own depth and top together" }; /* enum grades_lack */
    return words[lack];
}

static void
clear_words(char *out, size_t room, const struct grades *g, const struct grades_candidate *c, const struct sheet_style *style)
{
    char clear[SHEET_WORDS];
    given_words(clear, g->options.clear, style);
    if (g->no_sigma)
        snprintf(out, room, "lowest level string %s above all ground under it, as it reads; %s ground decides", clear, shot_name(g, c->decides));
    else
        snprintf(out, room, "lowest level string %s above all ground under it, sure to %.4g %%; %s ground decides", clear,
            100 * g->options.confidence, shot_name(g, c->decides));
}

static void
slope_words_of(char *out, size_t room, const struct grades *g, enum grades_kind kind, const struct grades_candidate *c)
{
    char most[SHEET_WORDS];
    ratio_words(most, g->options.most);
    int n = snprintf(out, room, "slopes along the %s, balances; the ground has 1 in %.1f", kind == GRADES_LENGTH ? "length" : "width",
        1 / fabs(c->found));
    if (c->bound)
        n += snprintf(out + n, room - (size_t)n, ", held to %s", most);
    if (c->may_be_chance)
        snprintf(out + n, room - (size_t)n, ", perhaps chance");
}

/* What a candidate is, on one line. */
static void
candidate_words(char *out, size_t room, const struct grades *g, enum grades_kind kind, const struct sheet_style *style)
{
    const struct grades_candidate *c = &g->candidate[kind];
    switch (kind) {
    case GRADES_CLEAR:
        clear_words(out, room, g, c, style);
        return;
    case GRADES_BALANCE:
        snprintf(out, room, "level that balances cut and fill");
        return;
    case GRADES_LENGTH:
    case GRADES_WIDTH:
        slope_words_of(out, room, g, kind, c);
        return;
    case GRADES_POSTS:
    case GRADES_KINDS:
        break;
    }
    snprintf(out, room, "highest level that the posts reach, so least digging for them; %s decides", post_name(g, c->decides));
}

static void
lacking_line(const struct grades *g, enum grades_kind kind, const char *number, FILE *out)
{
    static const char *const what[GRADES_KINDS] = { "a level string that clears the ground", "a level that balances cut and fill",
        "a slope along the length that balances", "a slope along the width that balances", "the highest level that the posts reach" };
    const struct grades_candidate *c = &g->candidate[kind];
    bool named = c->lack == GRADES_TOO_SHORT;
    fprintf(out, "%s-: %s.\n", number, what[kind]);
    tell_line(out, "     ", "     ", "%s%s%s.", sheet_grade_lack(c->lack), named ? ": " : "", named ? post_name(g, c->decides) : "");
}

static void
earth_line(const struct grades *g, const struct grades_candidate *c, FILE *out)
{
    if (c->cut_shot == JOB_NONE && c->fill_shot == JOB_NONE)
        return;
    fputs("    ", out);
    if (c->cut_shot != JOB_NONE)
        fprintf(out, " cut most at %s%s", shot_name(g, c->cut_shot), c->fill_shot != JOB_NONE ? "," : "");
    if (c->fill_shot != JOB_NONE)
        fprintf(out, " filled most at %s", shot_name(g, c->fill_shot));
    fputc('\n', out);
}

static void
post_line(const struct grades *g, const struct grades_candidate *c, const struct sheet_style *style, FILE *out)
{
    char by[SHEET_WORDS];
    if (c->hole_post == JOB_NONE)
        return;
    fprintf(out, "     deepest hole %s, longest post %s", post_name(g, c->hole_post), post_name(g, c->post_post));
    sheet_size_words(by, c->short_by, style);
    if (c->too_short > 0)
        fprintf(out, "; %zu bought TOO SHORT, %s by %s", c->too_short, post_name(g, c->short_post), by);
    fputc('\n', out);
}

static void
water_line(const struct grades *g, const struct grades_candidate *c, const struct sheet_style *style, FILE *out)
{
    char fall[SHEET_WORDS], need[SHEET_WORDS], far[SHEET_WORDS];
    if (c->wettest == JOB_NONE || (c->wet == 0 && c->doubtful == 0))
        return;
    sheet_size_words(fall, c->fall.fall, style);
    sheet_size_words(need, c->fall.need, style);
    distance_words(far, c->fall.distance, style);
    fprintf(out, "     %s: the ground %s %s out to %s, %s away; asked for is a fall of %s\n", c->wet > 0 ? "WATER" : "water, can't tell",
        c->fall.fall < 0 ? "RISES" : "falls", fall, shot_name(g, c->wettest), far, need);
}

static void
candidates_in_words(const struct grades *g, const struct sheet_style *style, FILE *out)
{
    char words[SHEET_WORDS * 4];
    fputc('\n', out);
    for (int k = 0; k < GRADES_KINDS; k++) {
        const struct grades_candidate *c = &g->candidate[k];
        char number[16];
        snprintf(number, sizeof number, "%d  ", k + 1);
        if (c->lack != GRADES_THERE) {
            lacking_line(g, (enum grades_kind)k, number, out);
            continue;
        }
        candidate_words(words, sizeof words, g, (enum grades_kind)k, style);
        tell_line(out, number, "     ", "%s", words);
        earth_line(g, c, out);
        post_line(g, c, style, out);
        water_line(g, c, style, out);
    }
}

static void
notes(const struct grades *g, const struct sheet_style *style, FILE *out)
{
    char under[SHEET_WORDS], fall[SHEET_WORDS];
    given_words(under, g->options.under, style);
    ratio_words(fall, g->options.fall);
    bool usual = g->options.fall.rise * SITE_CHOOSE_FALL_RUN == g->options.fall.run * SITE_CHOOSE_FALL_RISE;
    fprintf(out, "\nGrade: of strings and post marks, at x = y = 0, in whole divisions of the rod. The earth is\nbrought to %s%s.\n",
        g->options.under > 0 ? under : "grade", g->options.under > 0 ? " below it" : "; --under says how far below it, for stone or a slab");
    fputs("Cut and fill: the most at one shot, then of the whole building; of earth as it lies. Loose it takes\n"
          "more room, and packed less: a fill from what was cut comes out short where the two only balance.\n", out);
    if (g->outline == GRADES_OF_SHOTS)
        fputs("Water: not looked at, for nothing says where the building stands; give its corners x, y and kind.\n", out);
    else if (g->near == 0)
        fputs("Water: not looked at, for no ground was shot within 10 ft outside the building; shoot some on\neach side.\n", out);
    else
        fprintf(out, "Water: held to a fall of %s away from the building, within 10 ft of it%s.\n"
            "The local code rules; it may ask less of swales and hard surfaces.\n", fall, usual ? "\n(6 in in the first 10 ft: IRC R401.3)" : "");
    if (g->no_top)
        fputs("Posts are taken to end at grade; --top says how far above it they stand.\n", out);
    fputs("Holes and posts: by the depth that is stated; depths, frost and footings follow the local code and\nthe plan. "
          "Levels find no buried services: have them located and marked before any digging.\n"
          "To take one: rodbook grade --take N --name NAME, with the same options, and the record.\n", out);
}

int
sheet_grades(const struct grades *g, FILE *out)
{
    struct sheet_style style = sheet_style_of(g->job->r);
    sheet_title(g->job, "Choosing a grade", out);
    sheet_closures(g->job, out);
    ground_lines(g, &style, out);
    if (candidate_table(g, &style, out) != 0)
        return -1;
    candidates_in_words(g, &style, out);
    notes(g, &style, out);
    return 0;
}

/* ---- the reason that is booked with a grade ---- */

void
sheet_grade_reason(char *out, size_t room, const struct grades *g, enum grades_kind kind)
{
    struct sheet_style style = sheet_style_of(g->job->r);
    const struct grades_candidate *c = &g->candidate[kind];
    char words[SHEET_WORDS * 4], cut[SHEET_WORDS], fill[SHEET_WORDS], under[SHEET_WORDS];
    const char *unit = is_metric(g) ? "m3" : "yd3";
    candidate_words(words, sizeof words, g, kind, &style);
    int n = snprintf(out, room, "%s; from %zu ground shots", words, g->shots);
    volume_words(cut, g, c->earth.cut);
    volume_words(fill, g, c->earth.fill);
    if (c->earth.area > 0 && n > 0 && (size_t)n < room)
        n += snprintf(out + n, room - (size_t)n, "; cut %s, fill %s %s", cut, fill, unit);
    given_words(under, g->options.under, &style);
    if (g->options.under > 0 && n > 0 && (size_t)n < room)
        n += snprintf(out + n, room - (size_t)n, ", earth %s below grade", under);
    if (c->wet > 0 && n > 0 && (size_t)n < room)
        snprintf(out + n, room - (size_t)n, "; falls too little to drain at %zu of %zu shots", c->wet, g->near);
}

/* ---- as JSON ---- */

static void
put_volume(struct writer *w, const char *written, size_t n, bool known, double m3)
{
    double unit = w->unit_nm / (double)LENGTH_M;
    writer_real(w, written, n, known, m3 / (unit * unit * unit));
}

static void
put_area(struct writer *w, const char *written, size_t n, double m2)
{
    double unit = w->unit_nm / (double)LENGTH_M;
    writer_real(w, written, n, true, m2 / (unit * unit));
}

static const char *
candidate_key(enum grades_kind kind)
{
    static const char *const words[GRADES_KINDS] = { "clear", "balance", "balance along length", "balance along width", "posts" };
    return words[kind];
}

static const char *
water_key(const struct grades_candidate *c)
{
    return c->wettest == JOB_NONE ? NULL : c->wet > 0 ? "too little" : c->doubtful > 0 ? "unsure" : "enough";
}

static void
put_water(struct writer *w, const struct grades *g, const struct grades_candidate *c)
{
    bool known = c->wettest != JOB_NONE;
    open_member(w, KEY("drainage"));
    text(w, KEY("fall"), water_key(c));
    count(w, KEY("shots"), true, g->near);
    count(w, KEY("too_little"), known, c->wet);
    count(w, KEY("unsure"), known, c->doubtful);
    text(w, KEY("worst_at"), known ? shot_name(g, c->wettest) : NULL);
    number(w, KEY("worst_distance"), known, c->fall.distance);
    number(w, KEY("worst_fall"), known, c->fall.fall);
    number(w, KEY("worst_needs"), known, c->fall.need);
    close_object(w);
}

static void
put_candidate(struct writer *w, const struct grades *g, int kind)
{
    const struct grades_candidate *c = &g->candidate[kind];
    bool there = c->lack == GRADES_THERE, sloped = kind == GRADES_LENGTH || kind == GRADES_WIDTH;
    bool shot = c->decides != JOB_NONE && kind == GRADES_CLEAR, post = c->decides != JOB_NONE && kind == GRADES_POSTS;
    open_object(w);
    count(w, KEY("number"), true, (uint64_t)kind + 1);
    text(w, KEY("kind"), candidate_key((enum grades_kind)kind));
    text(w, KEY("missing"), there ? NULL : sheet_grade_lack(c->lack));
    number(w, KEY("level"), there, c->level);
    writer_real(w, KEY("slope"), there, (double)c->slope.rise / (double)c->slope.run);
    text(w, KEY("towards"), there && sloped ? kind == GRADES_LENGTH ? "length" : "width" : NULL);
    writer_real(w, KEY("slope_of_ground"), there && sloped, c->found);
    writer_real(w, KEY("slope_sigma"), there && sloped && c->found_sigma >= 0, c->found_sigma);
    truth(w, KEY("may_be_chance"), there && sloped && c->found_sigma >= 0, c->may_be_chance);
    truth(w, KEY("held"), there && sloped, c->bound);
    text(w, KEY("decides"), shot ? shot_name(g, c->decides) : post ? post_name(g, c->decides) : NULL);
    number(w, KEY("cut"), there && c->cut_shot != JOB_NONE, c->cut);
    text(w, KEY("cut_at"), there && c->cut_shot != JOB_NONE ? shot_name(g, c->cut_shot) : NULL);
    number(w, KEY("fill"), there && c->fill_shot != JOB_NONE, c->fill);
    text(w, KEY("fill_at"), there && c->fill_shot != JOB_NONE ? shot_name(g, c->fill_shot) : NULL);
    put_volume(w, KEY("cut_volume"), there && c->earth.area > 0, c->earth.cut);
    put_volume(w, KEY("fill_volume"), there && c->earth.area > 0, c->earth.fill);
    number(w, KEY("hole"), there && c->hole_post != JOB_NONE, c->hole);
    text(w, KEY("hole_at"), there && c->hole_post != JOB_NONE ? post_name(g, c->hole_post) : NULL);
    number(w, KEY("post"), there && c->post_post != JOB_NONE, c->post);
    text(w, KEY("post_at"), there && c->post_post != JOB_NONE ? post_name(g, c->post_post) : NULL);
    count(w, KEY("too_short"), there && c->hole_post != JOB_NONE, c->too_short);
    number(w, KEY("short_by"), there && c->short_post != JOB_NONE, c->short_by);
    put_water(w, g, c);
    close_object(w);
}

static void
put_ground(struct writer *w, const struct grades *g)
{
    static const char *const outlines[] = { "site", "corners", "posts", "shots" }; /* enum grades_outline */
    const struct site_rectangle *b = &g->building;
    open_member(w, KEY("ground"));
    text(w, KEY("building"), outlines[g->outline]);
    number(w, KEY("length"), true, b->to.x - b->from.x);
    number(w, KEY("width"), true, b->to.y - b->from.y);
    put_area(w, KEY("area"), g->area);
    put_area(w, KEY("covered"), g->covered);
    writer_real(w, KEY("slope_along"), g->has_plane, g->plane.along);
    writer_real(w, KEY("slope_across"), g->has_plane, g->plane.across);
    number(w, KEY("up_along"), g->has_plane, g->up[0]);
    number(w, KEY("up_across"), g->has_plane, g->up[1]);
    deviation(w, KEY("sigma_along"), g->up_sigma[0]);
    deviation(w, KEY("sigma_across"), g->up_sigma[1]);
    deviation(w, KEY("scatter"), g->scatter);
    count(w, KEY("posts_between"), true, g->between);
    count(w, KEY("posts_unknown"), true, g->unknown);
    open_list(w, KEY("shots"));
    for (uint32_t i = 0; i < g->shots; i++) {
        const struct grades_shot *s = &g->shot[i];
        open_object(w);
        text(w, KEY("at"), shot_name(g, i));
        number(w, KEY("elevation"), true, s->elevation);
        deviation(w, KEY("sigma"), s->sigma);
        text(w, KEY("closure"), sheet_quality_word(s->quality));
        number(w, KEY("outside"), true, s->distance);
        truth(w, KEY("on"), true, s->on);
        truth(w, KEY("strings"), true, s->strung);
        put_area(w, KEY("area"), s->weight);
        close_object(w);
    }
    close_list(w);
    open_list(w, KEY("left_out"));
    for (size_t i = 0; i < g->left; i++) {
        put(w, i ? "," : "");
        writer_quote(w, spot_name(g->job, g->left_out[i]));
    }
    close_list(w);
    close_object(w);
}

int
sheet_grades_data(const struct grades *g, const struct sheet_table *table, FILE *out)
{
    struct writer w;
    const struct record *r = g->job->r;
    writer_open(&w, table, out, r->job.unit);
    writer_begin(&w, "rodbook/grade/1", r);
    writer_real(&w, KEY("confidence"), true, g->options.confidence);
    number(&w, KEY("clear"), true, g->options.clear);
    number(&w, KEY("under"), true, g->options.under);
    writer_real(&w, KEY("slope_most"), true, (double)g->options.most.rise / (double)g->options.most.run);
    writer_real(&w, KEY("fall"), true, (double)g->options.fall.rise / (double)g->options.fall.run);
    put_ground(&w, g);
    open_list(&w, KEY("candidates"));
    for (int k = 0; k < GRADES_KINDS; k++)
        put_candidate(&w, g, k);
    close_list(&w);
    put(&w, "}\n");
    return writer_close(&w);
}
