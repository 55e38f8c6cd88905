/* pad.c - the pad, as text and as JSON */
#include "parts.h"
#include "writer.h"

#include <inttypes.h>
#include <string.h>

/* ft3 in m3, yd3 in ft3, pounds and short tons in kg: NIST Handbook 44, appendix C */
#define FT2_M2 (0.3048 * 0.3048)
#define FT3_M3 (0.3048 * 0.3048 * 0.3048)
#define YD3_M3 (27 * FT3_M3)
#define SHORT_TON_KG 907.18474
#define TONNE_KG 1000

static bool
is_metric(const struct earth *e)
{
    return e->job->r->job.unit == LENGTH_BARE_M;
}

static const char *
spot_named(const struct earth *e, uint32_t spot)
{
    return names_text(&e->job->r->names, e->spot[spot].at);
}

/* A decimal number; one that rounds to nought has no sign. */
static void
decimal(char out[SHEET_WORDS], double value, int places)
{
    snprintf(out, SHEET_WORDS, "%.*f", places, value);
    if (out[0] == '-' && !strpbrk(out, "123456789"))
        memmove(out, out + 1, strlen(out));
}

/* A deviation that is less than its figures show is not nought. */
static void
decimal_sigma(char out[SHEET_WORDS], double value, int places)
{
    stpcpy(out, "-");
    if (!(value >= 0))
        return;
    decimal(out, value, places);
    if (value > 0 && !strpbrk(out, "123456789"))
        snprintf(out, SHEET_WORDS, "<%.*f", places, places == 3 ? 0.001 : 0.01);
}

static void
area_words(char out[SHEET_WORDS], const struct earth *e, double m2)
{
    decimal(out, is_metric(e) ? m2 : m2 / FT2_M2, is_metric(e) ? 2 : 1);
    stpcpy(out + strlen(out), is_metric(e) ? " m2" : " ft2");
}

/* "12.4 ft3 = 0.46 yd3", "0.351 m3" */
static void
volume_words(char out[SHEET_WORDS], const struct earth *e, double m3)
{
    if (is_metric(e)) {
        decimal(out, m3, 3);
        stpcpy(out + strlen(out), " m3");
        return;
    }
    decimal(out, m3 / FT3_M3, 2);
    char *p = stpcpy(out + strlen(out), " ft3 = ");
    decimal(p, m3 / YD3_M3, 2);
    stpcpy(p + strlen(p), " yd3");
}

/* ---- what it is dug to ---- */

static void
grade_lines(const struct earth *e, const struct sheet_style *style, FILE *out)
{
    const struct record_grade *from = e->grade.from;
    char words[SHEET_WORDS], level[LENGTH_TEXT], slope[SHEET_WORDS * 2] = "";
    struct remark through = { 0 };
    struct sheet_style fine = *style;
    fine.move.parts = 64;
    sheet_size_words(words, e->below, &fine);
    length_print(level, from->level, style->elevation);
    fprintf(out, "\nPad, entry %" PRIu32 ": dug to ", e->from->entry + 1);
    if (from->name == RECORD_NONE) {
        fprintf(out, "level %s, SUBGRADE\n", level);
        return;
    }
    if (e->below > 0)
        fprintf(out, "%s below ", words);
    fprintf(out, "grade %s, entry %" PRIu32 ": %s\n  ", names_text(&e->job->r->names, from->name), from->entry + 1,
        from->subgrade ? "SUBGRADE" : "FINISH GRADE");
    for (uint32_t i = 0; i < from->through; i++)
        through_words(&through, e->job, &from->at[i], style);
    if (from->slope.given)
        slope_words(slope, sizeof slope, e->job, &from->slope);
    if (from->through == 0)
        fprintf(out, "%s%s%s%s", from->slope.given ? "" : "level ", level, from->slope.given ? " at x = y = 0" : "", slope);
    else
        fprintf(out, "%s through %s%s", from->through == 3 ? "plane" : from->slope.given ? "slope" : "level", through.text, slope);
    fputs(e->below > 0 ? "; the stone fills what is left\n"
            : from->subgrade ? "\n"
                             : "; no stone is stated, so nothing is left for it\n", out);
    if (e->grade.quality == LEVEL_UNCHECKED)
        fputs("  this grade goes through a mark that is UNCHECKED\n", out);
    if (e->grade.quality == LEVEL_OUTSIDE)
        fputs("  this grade goes through a mark on a line OUTSIDE its limit: no volumes are given\n", out);
}

/* ---- spots ---- */

static void
spot_remarks(const struct earth *e, const struct earth_spot *s, struct remark *remark)
{
    if (s->spot == JOB_NONE)
        remark_add(remark, "not read");
    else if (s->quality == LEVEL_OUTSIDE)
        remark_add(remark, "levels OUTSIDE their limit: close them first");
    else if (!s->has_ground)
        remark_add(remark, "no elevation: its set-up hangs on nothing");
    if (s->spot != JOB_NONE && s->quality == LEVEL_FORCED)
        remark_add(remark, "levels OUTSIDE their limit, spread as asked");
    if (s->has_ground && s->quality == LEVEL_UNCHECKED)
        remark_add(remark, "unchecked");
    if (!s->placed)
        remark_add(remark, "no x and y");
    if (s->same != JOB_NONE)
        remark_add(remark, "same place as %s: their mean counts", spot_named(e, s->same));
    if (s->used && e->surface == EARTH_SQUARES && s->squares == 0 && s->same == JOB_NONE)
        remark_add(remark, "corner of no whole square: not in the volumes");
}

static void
length_or_gap(struct table *t, bool known, length value, struct length_style style)
{
    if (known)
        table_length(t, value, style);
    else
        table_cell(t, "-");
}

static int
spot_table(const struct earth *e, const struct sheet_style *style, FILE *out)
{
    const struct table_column columns[] = { { "spot", false, false }, { "on", false, false }, { "ground", true, false },
        { "grade", true, false }, { "cut", true, false }, { "fill", true, false },
        { style->move.form == LENGTH_AS_MM ? "+- mm" : "+- in", true, false }, { "squares", true, false }, { "remarks", false, false } };
    struct table t;
    char words[SHEET_WORDS];
    table_open(&t, columns, sizeof columns / sizeof columns[0]);
    for (size_t i = 0; i < e->spots; i++) {
        const struct earth_spot *s = &e->spot[i];
        struct remark remark = { 0 };
        table_cell(&t, names_text(&e->job->r->names, s->at));
        table_cell(&t, record_on_word((enum record_on)s->on));
        length_or_gap(&t, s->has_ground, s->ground, style->adjusted);
        length_or_gap(&t, s->has_grade, s->grade, style->adjusted);
        length_or_gap(&t, s->used && s->cut > 0, s->cut, style->adjusted);
        length_or_gap(&t, s->used && s->fill > 0, s->fill, style->adjusted);
        sheet_sigma_words(words, s->sigma, style);
        table_cell(&t, words[0] ? words : "-");
        put_count(words, s->squares);
        table_cell(&t, e->surface == EARTH_SQUARES ? words : NULL);
        spot_remarks(e, s, &remark);
        table_cell(&t, remark.text);
    }
    return table_print(&t, out);
}

/* ---- the surface ---- */

/* The heading of the squares; triangles have no table, and are told with their volumes. */
static void
squares_line(const struct earth *e, const struct sheet_style *style, FILE *out)
{
    char dx[LENGTH_TEXT], dy[LENGTH_TEXT];
    if (e->surface != EARTH_SQUARES)
        return;
    length_print(dx, e->grid.dx, style->elevation);
    length_print(dy, e->grid.dy, style->elevation);
    fprintf(out, "\nSquares: %zu whole, %s by %s%s\n", e->cells, dx, dy,
        is_metric(e) ? " m" : style->elevation.form == LENGTH_AS_FT ? " ft" : "");
}

static void
triangles_line(const struct earth *e, FILE *out)
{
    if (e->surface == EARTH_SQUARES || e->surface == EARTH_NONE)
        return;
    fprintf(out, "  by %zu triangle%s between the spots", e->triangles, e->triangles == 1 ? "" : "s");
    if (e->surface == EARTH_OFF_GRID)
        fprintf(out, "; they would make a grid without %s", spot_named(e, e->odd));
    if (e->surface == EARTH_NO_GRID)
        fputs("; they make no regular grid", out);
    fputc('\n', out);
}

static int
cell_table(const struct earth *e, const struct sheet_style *style, FILE *out)
{
    const struct table_column columns[] = { { "corners", false, false }, { "mean cut", true, false }, { is_metric(e) ? "cut m3" : "cut ft3", true, false },
        { is_metric(e) ? "fill m3" : "fill ft3", true, false }, { "rule cut", true, false }, { "rule fill", true, false } };
    struct table t;
    double unit = is_metric(e) ? 1 : FT3_M3;
    int places = is_metric(e) ? 3 : 2;
    char words[SHEET_WORDS];
    if (e->cells == 0)
        return 0;
    table_open(&t, columns, sizeof columns / sizeof columns[0]);
    for (size_t i = 0; i < e->cells; i++) {
        const struct earth_cell *c = &e->cell[i];
        struct remark corners = { 0 };
        remark_add(&corners, "%s %s %s %s", spot_named(e, c->corner[0]), spot_named(e, c->corner[1]), spot_named(e, c->corner[2]),
            spot_named(e, c->corner[3]));
        table_cell(&t, corners.text);
        double nm = c->above * (double)LENGTH_M;
        signed_length(words, (length)(nm < 0 ? nm - 0.5 : nm + 0.5), style->adjusted);
        table_cell(&t, words);
        const double volume[4] = { c->v.cut, c->v.fill, c->rule_cut, c->rule_fill };
        for (int k = 0; k < 4; k++) {
            decimal(words, volume[k] / unit, places);
            table_cell(&t, k < 2 || e->whole ? words : NULL);
        }
    }
    return table_print(&t, out);
}

static int
gap_table(const struct earth *e, const struct sheet_style *style, FILE *out)
{
    static const struct table_column columns[] = { { "x", true, false }, { "y", true, false }, { "point", false, false },
        { "squares", true, false } };
    struct table t;
    char words[SHEET_WORDS];
    if (e->gaps == 0)
        return 0;
    fprintf(out, "\nLeft out: %zu square%s with corners that were not read. Nothing stands in for them; if they belong to\n"
                 "the pad, shoot these places:\n", e->left_out, e->left_out == 1 ? "" : "s");
    table_open(&t, columns, sizeof columns / sizeof columns[0]);
    for (size_t i = 0; i < e->gaps; i++) {
        table_length(&t, e->gap[i].place.x, style->elevation);
        table_length(&t, e->gap[i].place.y, style->elevation);
        table_cell(&t, e->gap[i].spot == JOB_NONE ? "-" : spot_named(e, e->gap[i].spot));
        put_count(words, e->gap[i].cells);
        table_cell(&t, words);
    }
    return table_print(&t, out);
}

/* ---- volumes ---- */

static void
volume_row(struct table *t, const char *name, const double value[3], double unit, int places, bool sigma)
{
    char words[SHEET_WORDS];
    table_cell(t, name);
    for (int k = 0; k < 3; k++) {
        if (sigma)
            decimal_sigma(words, value[k] / unit, places);
        else
            decimal(words, value[k] / unit, places);
        table_cell(t, words);
    }
}

static int
volume_table(const struct earth *e, FILE *out)
{
    static const struct table_column columns[] = { { "bank measure", false, true }, { "cut", true, false }, { "fill", true, false },
        { "net", true, false } };
    struct table t;
    double unit = is_metric(e) ? 1 : YD3_M3;
    int places = is_metric(e) ? 3 : 2;
    const double v[3] = { e->v.cut, e->v.fill, e->v.net }, sigma[3] = { e->sigma_cut, e->sigma_fill, e->sigma_net };
    const double rule[3] = { e->rule_cut, e->rule_fill, e->rule_cut - e->rule_fill };
    fputs("\nVolumes\n", out);
    table_open(&t, columns, sizeof columns / sizeof columns[0]);
    if (!is_metric(e))
        volume_row(&t, "ft3", v, FT3_M3, 2, false);
    volume_row(&t, is_metric(e) ? "m3" : "yd3", v, unit, places, false);
    volume_row(&t, is_metric(e) ? "+- m3" : "+- yd3", sigma, unit, places, true);
    if (e->whole)
        volume_row(&t, is_metric(e) ? "four-point rule, m3" : "four-point rule, yd3", rule, unit, places, false);
    return table_print(&t, out);
}

static void
volume_notes(const struct earth *e, const struct sheet_style *style, FILE *out)
{
    char words[SHEET_WORDS], whole[SHEET_WORDS], sum[LENGTH_TEXT + 1];
    triangles_line(e, out);
    area_words(words, e, e->v.area);
    fprintf(out, "  over %s; net: ", words);
    volume_words(words, e, e->v.net < 0 ? -e->v.net : e->v.net);
    fprintf(out, "%s more %s\n", words, e->v.net < 0 ? "fill than cut" : "cut than fill");
    if (e->whole) {
        double nm = e->sum * (double)LENGTH_M;
        signed_length(sum, (length)(nm < 0 ? nm - 0.5 : nm + 0.5), style->adjusted);
        area_words(words, e, site_volume_square(&e->grid));
        fprintf(out, "  by the four-point mean: heights times their squares sum to %s, times %s / 4\n", sum, words);
    }
    if (e->loose >= 0) {
        volume_words(words, e, e->loose);
        fprintf(out, "  the cut once dug, %.4g %% more: %s loose\n", e->from->swell * 100, words);
    }
    if (e->uncovered > 0) {
        area_words(words, e, e->uncovered);
        area_words(whole, e, e->area);
        tell_line(out, "  ", "  ", "NOT COVERED: %s of the pad's %s lie beyond the ground that was shot, and are in no volume here: "
            "shoot the pad's edge", words, whole);
    }
    if (e->unused > 0 && e->surface != EARTH_SQUARES)
        fputs("  spots without ground bear nothing: the triangles go straight past them\n", out);
}

static void
stone_lines(const struct earth *e, FILE *out)
{
    char area[SHEET_WORDS], words[SHEET_WORDS];
    struct sheet_style fine = sheet_style_of(e->job->r);
    const struct record_pad *p = e->from;
    if (p->stone == 0)
        return;
    fine.move.parts = 64;
    sheet_size_words(words, p->stone, &fine);
    fprintf(out, "\nStone, %s: ", words);
    if (e->stone < 0) {
        fputs("-; no area is known\n", out);
        return;
    }
    volume_words(words, e, e->stone);
    area_words(area, e, e->area);
    fprintf(out, "%s as it lies, over %s of %s\n", words, area, e->bounded ? "the pad" : "ground that was shot");
    if (e->stone_mass < 0) {
        fputs("  weight -: no density is stated\n", out);
    } else {
        decimal(words, e->stone_mass / (is_metric(e) ? TONNE_KG : SHORT_TON_KG), 2);
        fprintf(out, "  %s %s", words, is_metric(e) ? "t" : "short tons of 2000 lb");
        decimal(words, e->stone_mass / TONNE_KG, 2);
        if (!is_metric(e))
            fprintf(out, " = %s t", words);
        fprintf(out, ", at %s", names_text(&e->job->r->texts, p->density_text));
        fprintf(out, " (%s)\n", p->source == RECORD_NONE ? "no source stated" : names_text(&e->job->r->texts, p->source));
    }
    if (p->stone < 100 * LENGTH_MM)
        fputs("  thin: common practice is at least 4 in (100 mm) of 3/4 to 1 in stone\n", out);
}

static void
closing_notes(const struct earth *e, FILE *out)
{
    fputs(e->surface == EARTH_SQUARES
            ? "\nA square is four triangles about its mean, each cut off where it goes through the grade. The\n"
              "four-point rule goes by the sums of cut and fill at the corners. Both keep the four-point net.\n"
            : "\nEach triangle is flat between its spots, and cut off where it goes through the grade.\n", out);
    fputs("Net comes from volumes that are not rounded yet.\n", out);
    fputs("Bank measure is earth as it lies: dug it takes up more, packed in fill less.\n", out);
    if (e->from->stone > 0)
        fputs("Stone is counted as it lies, packed: a density of loose stone gives too little weight.\n", out);
    fputs("+-: from the readings alone. How the ground lies between spots is not in it, and matters more:\n"
          "half the spacing leaves about a quarter of that error.\n"
          "Levels find no buried services: have them located and marked before any digging.\n", out);
}

int
sheet_pad(const struct earth *e, FILE *out)
{
    struct sheet_style style = sheet_style_of(e->job->r);
    sheet_title(e->job, "Pad", out);
    sheet_closures(e->job, out);
    grade_lines(e, &style, out);
    if (spot_table(e, &style, out) != 0)
        return -1;
    squares_line(e, &style, out);
    if (cell_table(e, &style, out) != 0 || gap_table(e, &style, out) != 0)
        return -1;
    if (e->known) {
        if (volume_table(e, out) != 0)
            return -1;
        volume_notes(e, &style, out);
    } else {
        fputs("\nVolumes: -; too few spots have an elevation to use and a grade: see their remarks\n", out);
    }
    stone_lines(e, out);
    closing_notes(e, out);
    return 0;
}

/* ---- as JSON ---- */

/* m2 and m3 in squares and cubes of the job's unit. */
static void
area(struct writer *w, const struct earth *e, const char *written, size_t n, bool known, double m2)
{
    writer_real(w, written, n, known, is_metric(e) ? m2 : m2 / FT2_M2);
}

static void
volume(struct writer *w, const struct earth *e, const char *written, size_t n, bool known, double m3)
{
    writer_real(w, written, n, known, is_metric(e) ? m3 : m3 / FT3_M3);
}

static void
put_spot(struct writer *w, const struct earth *e, const struct earth_spot *s)
{
    open_object(w);
    text(w, KEY("at"), names_text(&e->job->r->names, s->at));
    text(w, KEY("on"), record_on_word((enum record_on)s->on));
    number(w, KEY("x"), s->placed, s->place.x);
    number(w, KEY("y"), s->placed, s->place.y);
    number(w, KEY("ground"), s->has_ground, s->ground);
    number(w, KEY("grade"), s->has_grade, s->grade);
    number(w, KEY("cut"), s->used, s->cut);
    number(w, KEY("fill"), s->used, s->fill);
    deviation(w, KEY("sigma"), s->sigma);
    count(w, KEY("squares"), e->surface == EARTH_SQUARES, s->squares);
    text(w, KEY("quality"), s->spot == JOB_NONE ? NULL : sheet_quality_word(s->quality));
    text(w, KEY("same_place"), s->same == JOB_NONE ? NULL : spot_named(e, s->same));
    close_object(w);
}

static void
put_cell(struct writer *w, const struct earth *e, const struct earth_cell *c)
{
    open_object(w);
    open_list(w, KEY("corners"));
    for (int k = 0; k < 4; k++) {
        put(w, k ? "," : "");
        writer_quote(w, spot_named(e, c->corner[k]));
    }
    close_list(w);
    writer_real(w, KEY("mean"), true, c->above * (double)LENGTH_M / w->unit_nm);
    area(w, e, KEY("area"), true, c->v.area);
    volume(w, e, KEY("cut"), true, c->v.cut);
    volume(w, e, KEY("fill"), true, c->v.fill);
    volume(w, e, KEY("net"), true, c->v.net);
    volume(w, e, KEY("rule_cut"), e->whole, c->rule_cut);
    volume(w, e, KEY("rule_fill"), e->whole, c->rule_fill);
    close_object(w);
}

static void
put_gap(struct writer *w, const struct earth *e, const struct earth_gap *g)
{
    open_object(w);
    number(w, KEY("x"), true, g->place.x);
    number(w, KEY("y"), true, g->place.y);
    text(w, KEY("point"), g->spot == JOB_NONE ? NULL : spot_named(e, g->spot));
    count(w, KEY("squares"), true, g->cells);
    close_object(w);
}

static void
put_lists(struct writer *w, const struct earth *e)
{
    open_list(w, KEY("spots"));
    for (size_t i = 0; i < e->spots; i++)
        put_spot(w, e, &e->spot[i]);
    close_list(w);
    open_list(w, KEY("squares"));
    for (size_t i = 0; i < e->cells; i++)
        put_cell(w, e, &e->cell[i]);
    close_list(w);
    open_list(w, KEY("not_read"));
    for (size_t i = 0; i < e->gaps; i++)
        put_gap(w, e, &e->gap[i]);
    close_list(w);
}

static void
put_surface(struct writer *w, const struct earth *e)
{
    bool squares = e->surface == EARTH_SQUARES, triangles = e->surface > EARTH_SQUARES;
    text(w, KEY("surface"), squares ? "squares" : triangles ? "triangles" : NULL);
    text(w, KEY("grid_without"), e->surface == EARTH_OFF_GRID ? spot_named(e, e->odd) : NULL);
    number(w, KEY("dx"), squares, e->grid.dx);
    number(w, KEY("dy"), squares, e->grid.dy);
    count(w, KEY("triangles"), triangles, e->triangles);
    count(w, KEY("left_out"), squares, e->left_out);
    writer_real(w, KEY("sum"), e->whole, e->sum * (double)LENGTH_M / w->unit_nm);
    area(w, e, KEY("square"), squares, squares ? site_volume_square(&e->grid) : 0);
}

static void
put_volumes(struct writer *w, const struct earth *e)
{
    volume(w, e, KEY("cut"), e->known, e->v.cut);
    volume(w, e, KEY("fill"), e->known, e->v.fill);
    volume(w, e, KEY("net"), e->known, e->v.net);
    volume(w, e, KEY("sigma_cut"), e->sigma_cut >= 0, e->sigma_cut);
    volume(w, e, KEY("sigma_fill"), e->sigma_fill >= 0, e->sigma_fill);
    volume(w, e, KEY("sigma_net"), e->sigma_net >= 0, e->sigma_net);
    volume(w, e, KEY("rule_cut"), e->whole, e->rule_cut);
    volume(w, e, KEY("rule_fill"), e->whole, e->rule_fill);
    volume(w, e, KEY("loose"), e->loose >= 0, e->loose);
    area(w, e, KEY("covered"), e->known, e->v.area);
    area(w, e, KEY("uncovered"), e->known && e->bounded, e->uncovered);
    area(w, e, KEY("area"), e->area >= 0, e->area);
}

int
sheet_pad_data(const struct earth *e, const struct sheet_table *table, FILE *out)
{
    const struct record *r = e->job->r;
    const struct record_grade *g = e->grade.from;
    struct writer w;
    writer_open(&w, table, out, r->job.unit);
    writer_begin(&w, "rodbook/pad/1", r);
    count(&w, KEY("entry"), true, (uint64_t)e->from->entry + 1);
    truth(&w, KEY("good"), true, e->good);
    text(&w, KEY("line"), g->name == RECORD_NONE ? NULL : names_text(&r->names, g->name));
    text(&w, KEY("means"), g->subgrade ? "subgrade" : "finish");
    number(&w, KEY("below"), true, e->below);
    put_surface(&w, e);
    put_volumes(&w, e);
    number(&w, KEY("stone"), e->from->stone > 0, e->from->stone);
    volume(&w, e, KEY("stone_volume"), e->stone >= 0, e->stone);
    writer_real(&w, KEY("density_kg_m3"), e->from->density > 0, e->from->density);
    writer_real(&w, KEY("stone_kg"), e->stone_mass >= 0, e->stone_mass);
    text(&w, KEY("source"), e->from->source == RECORD_NONE ? NULL : names_text(&r->texts, e->from->source));
    put_lists(&w, e);
    put(&w, "}\n");
    return writer_close(&w);
}
