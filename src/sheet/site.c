/* site.c - the building set out: what to tape, where strings and posts fall; as text and as JSON */
#include "parts.h"
#include "writer.h"

#include <inttypes.h>
#include <string.h>

/* Lengths as they are taped. */
struct taped {
    struct length_style first;
    struct length_style second; /* of a job in decimal feet: in feet and inches too */
    bool both;
};

/* A tape is read to 1/16 in, to 1 mm, or to 0.001 ft by interpolation: common practice, no source. */
static struct taped
taped_of(const struct record *r)
{
    struct length_style inches = { LENGTH_AS_FT_IN, 0, 16 };
    if (r->job.unit == LENGTH_BARE_M)
        return (struct taped){ { LENGTH_AS_M, 3, 0 }, inches, false };
    if (r->job.unit == LENGTH_BARE_FT)
        return (struct taped){ { LENGTH_AS_FT, 3, 0 }, inches, true };
    int parts = sheet_style_of(r).move.parts;
    return (struct taped){ { LENGTH_AS_FT_IN, 0, parts > 16 ? parts : 16 }, inches, false };
}

static const char *const side_words[] = { "front", "back", "start", "end", "inside" };         /* enum site_side */
static const char *const part_words[] = { "corner", "batten", "post", NULL, NULL };            /* enum building_part, as kinds in points */
static const char *const part_shown[] = { "corner", "batten", "post", "crossing", "outer faces" };
static const char *const measure_words[] = { "outside face", "centre", "inside face" };        /* enum site_measure */

static const char *
name_of(const struct building *b, uint32_t name)
{
    return name == RECORD_NONE ? NULL : names_text(&b->r->names, name);
}

static const char *
corner_name(const struct building *b, uint32_t corner)
{
    return name_of(b, b->from->corner[corner]);
}

static const char *
batten_name(const struct building *b, uint32_t batten)
{
    return name_of(b, b->point[SITE_CORNERS + batten].name);
}

static const char *
post_name(const struct building *b, uint32_t post)
{
    return post == SITE_NONE ? NULL : name_of(b, b->point[b->first_post + post].name);
}

static const char *
row_name(const struct building *b, uint32_t row)
{
    return row == SITE_NONE ? NULL : name_of(b, b->r->site_row[b->from->first_row + row].name);
}

/* ---- for people ---- */

/* A size with its unit: 5-1/2", 0.458 ft, 0.140 m. */
static const char *
size_words(char out[LENGTH_TEXT + 8], length v, const struct taped *t)
{
    char *p = out + length_print(out, v, t->first);
    if (t->first.form != LENGTH_AS_FT_IN)
        stpcpy(p, t->first.form == LENGTH_AS_M ? " m" : " ft");
    return out;
}

/* The same, and in a job of decimal feet in inches too: 0.458 ft (5-1/2"). */
static const char *
both_words(char out[SHEET_WORDS], length v, const struct taped *t)
{
    size_words(out, v, t);
    if (t->both) {
        char *p = stpcpy(out + strlen(out), " (");
        stpcpy(p + length_print(p, v, t->second), ")");
    }
    return out;
}

/* "posts 5-1/2" square; A 5, B 5: 10 posts in all"; a name stays whole. */
static void
post_line(const struct building *b, const struct taped *t, FILE *out)
{
    char one[SHEET_WORDS], two[SHEET_WORDS], words[SHEET_WORDS * 4];
    const struct site_building *s = &b->site;
    struct lines l = { .out = out };
    if (s->post_along == s->post_across)
        snprintf(words, sizeof words, "posts %s square;", both_words(one, s->post_along, t));
    else
        snprintf(words, sizeof words, "posts %s along the length, %s across it;", both_words(one, s->post_along, t),
            both_words(two, s->post_across, t));
    say(&l, words);
    for (uint32_t i = 0; i < b->from->rows; i++) {
        snprintf(words, sizeof words, "%s %zu%s", row_name(b, i), b->row_post[i + 1] - b->row_post[i], i + 1 < b->from->rows ? "," : ":");
        say_word(&l, words, strlen(words));
    }
    snprintf(words, sizeof words, "%zu post%s in all", b->posts, b->posts == 1 ? "" : "s");
    say(&l, words);
    end_sentence(&l);
}

static void
heading(const struct building *b, const struct taped *t, FILE *out)
{
    char one[SHEET_WORDS], two[SHEET_WORDS];
    const struct site_building *s = &b->site;
    fputc('\n', out);
    tell_line(out, "", "  ", "Building of entry %" PRIu32 ": %s long, %s wide, outside to outside", b->from->entry + 1,
        both_words(one, s->along, t), both_words(two, s->across, t));
    tell_line(out, "  ", "    ", "front %s to %s, back %s to %s, start %s to %s, end %s to %s", corner_name(b, SITE_FIRST), corner_name(b, SITE_ALONG),
        corner_name(b, SITE_ACROSS), corner_name(b, SITE_OPPOSITE), corner_name(b, SITE_FIRST), corner_name(b, SITE_ACROSS),
        corner_name(b, SITE_ALONG), corner_name(b, SITE_OPPOSITE));
    post_line(b, t, out);
    if (s->nailed > 0)
        fprintf(out, "  %s is nailed outside the posts: their outer faces stand so far in\n", both_words(one, s->nailed, t));
    if (s->string > 0)
        tell_line(out, "  ", "    ", "strings run %s outside the posts' outer faces%s", both_words(one, s->string, t),
            b->from->has_string ? "" : s->post_along == s->post_across ? ": one post width, as none is stated"
                                                                       : ": the larger post width, as none is stated");
    else
        fputs("  STRINGS TOUCH the posts' outer faces: a post that pushes its string moves the line\n", out);
    tell_line(out, "  ", "    ", "battens stand %s outside the footprint%s", both_words(one, s->set_back, t),
        b->from->has_set_back ? "" : ", as usual where nothing is stated");
}

/* Three lengths of one rectangle. */
static void
outline_row(const struct site_outline *r, const char *label, struct length_style style, struct table *t)
{
    table_cell(t, label);
    table_length(t, r->along, style);
    table_length(t, r->across, style);
    table_length(t, r->diagonal, style);
}

static int
rectangles(const struct building *b, const struct taped *t, FILE *out)
{
    static const char *const labels[] = { "footprint", "posts' outer faces", "strings, where they cross" }; /* enum site_outline_of */
    const struct table_column columns[] = { { "lines", false, false }, { "front and back", true, false }, { "start and end", true, false },
        { "both diagonals", true, false } };
    struct table table;
    char one[SHEET_WORDS], two[SHEET_WORDS], three[SHEET_WORDS];
    fputs("\nLengths to tape\n", out);
    table_open(&table, columns, sizeof columns / sizeof columns[0]);
    for (int i = 0; i < SITE_OUTLINES; i++) {
        outline_row(&b->outline[i], labels[i], t->first, &table);
        if (t->both)
            outline_row(&b->outline[i], "  in feet and inches", t->second, &table);
    }
    if (table_print(&table, out) != 0)
        return -1;
    if (b->has_triangle)
        fprintf(out, "  a quick look at any corner: %s along, %s across, then %s between\n",
            size_words(one, b->triangle.along, t), size_words(two, b->triangle.across, t), size_words(three, b->triangle.between, t));
    return 0;
}

static void
off_cell(struct table *t, length v, const struct taped *taped)
{
    char words[SHEET_WORDS] = "on it";
    if (v != 0)
        length_print(stpcpy(words, v > 0 ? "out " : "in "), v < 0 ? -v : v, taped->both ? taped->second : taped->first);
    table_cell(t, words);
}

static int
battens(const struct building *b, const struct taped *t, FILE *out)
{
    const struct table_column columns[] = { { "batten", false, false }, { "string", false, false }, { "posts' faces", false, false },
        { "string at", false, false }, { "facing", false, false }, { "apart: strings", true, false },
        { "footprint", true, false }, { "to crossing", true, false } };
    struct table table;
    fputs("\nBattens: mark the footprint's line on each cross-member, and the others from it, in or out\n",
        out);
    table_open(&table, columns, sizeof columns / sizeof columns[0]);
    for (uint32_t i = 0; i < SITE_BATTENS; i++) {
        const struct site_batten *one = &b->batten[i];
        table_cell(&table, batten_name(b, i));
        table_cell(&table, side_words[one->side]);
        off_cell(&table, one->face, t);
        off_cell(&table, one->string, t);
        table_cell(&table, batten_name(b, one->facing));
        table_length(&table, one->apart, t->first);
        table_length(&table, one->apart_footprint, t->first);
        table_length(&table, one->beyond, t->first);
    }
    return table_print(&table, out);
}

static void
string_heading(const struct building *b, const struct building_string *s, const struct taped *t, FILE *out)
{
    char one[SHEET_WORDS], two[SHEET_WORDS];
    fputc('\n', out);
    if (s->side == SITE_INSIDE)
        tell_line(out, "", "  ", "String of row %s, %s from the front string; running distances from the start string", row_name(b, s->row),
            both_words(one, s->off, t));
    else
        tell_line(out, "", "  ", "String of the %s, %s to %s, %s; running distances from %s", side_words[s->side], name_of(b, s->from),
            name_of(b, s->to), both_words(two, s->line.size, t), name_of(b, s->from));
    if (s->marks == 0)
        fputs("  no post stands on it\n", out);
}

static void
running_cells(struct table *table, length at, length before, const struct taped *t)
{
    char words[SHEET_WORDS];
    table_length(table, at, t->first);
    if (t->both)
        length_print(words, at, t->second);
    table_cell(table, t->both ? words : NULL);
    table_length(table, at - before, t->first);
}

static int
string(const struct building *b, const struct building_string *s, const struct taped *t, FILE *out)
{
    const struct table_column columns[] = { { "post", false, false }, { "measured to", false, false }, { "at", true, false },
        { "ft-in", true, false }, { "from the one before", true, false }, { "centre", true, false }, { "near face", true, false },
        { "far face", true, false } };
    struct table table;
    length before = 0;
    string_heading(b, s, t, out);
    table_open(&table, columns, sizeof columns / sizeof columns[0]);
    for (size_t i = s->first; i < s->first + s->marks; i++) {
        const struct site_mark *m = &b->mark[i];
        table_cell(&table, post_name(b, m->post));
        table_cell(&table, measure_words[m->to]);
        running_cells(&table, m->mark, before, t);
        table_length(&table, m->centre, t->first);
        table_length(&table, m->near, t->first);
        table_length(&table, m->far, t->first);
        before = m->mark;
    }
    if (s->marks == 0)
        return 0;
    table_cell(&table, s->side == SITE_INSIDE ? "end string" : name_of(b, s->to));
    table_cell(&table, "crossing");
    running_cells(&table, s->line.size, before, t);
    for (int i = 0; i < 3; i++)
        table_cell(&table, NULL);
    return table_print(&table, out);
}

static int
doors(const struct building *b, const struct taped *t, FILE *out)
{
    const struct table_column columns[] = { { "row", false, false }, { "from", true, false }, { "to", true, false },
        { "clear opening", true, false }, { "ft-in", true, false }, { "between posts", false, false } };
    struct table table;
    char words[SHEET_WORDS * 3];
    if (b->from->doors == 0)
        return 0;
    fputs("\nDoors: from the footprint's corner where the row begins; posts stand with their inner faces there\n", out);
    table_open(&table, columns, sizeof columns / sizeof columns[0]);
    for (uint32_t i = 0; i < b->from->doors; i++) {
        const struct site_door *door = &b->door[i];
        table_cell(&table, row_name(b, door->row));
        table_length(&table, door->from, t->first);
        table_length(&table, door->to, t->first);
        table_length(&table, door->to - door->from, t->first);
        if (t->both)
            length_print(words, door->to - door->from, t->second);
        table_cell(&table, t->both ? words : NULL);
        snprintf(words, sizeof words, "%s, %s", post_name(b, b->beside[i][0]), post_name(b, b->beside[i][1]));
        table_cell(&table, words);
    }
    return table_print(&table, out);
}

static void
given_remark(const struct building *b, const struct building_point *p, const struct taped *t, struct remark *remark)
{
    char x[LENGTH_TEXT], y[LENGTH_TEXT];
    if (p->given == RECORD_NONE)
        return;
    const struct record_point *given = &b->r->point[p->given];
    bool later = given->entry > b->from->entry;
    length_print(x, given->x, t->first);
    length_print(y, given->y, t->first);
    if (given->placed)
        remark_add(remark, "entry %" PRIu32 " puts it at x %s, y %s: %s", given->entry + 1, x, y, later ? "THAT HOLDS" : "this holds");
    else
        remark_add(remark, "entry %" PRIu32 " gives it no x and y: %s", given->entry + 1, later ? "IT HAS NO PLACE" : "these hold");
}

static int
points(const struct building *b, const struct taped *t, FILE *out)
{
    const struct table_column columns[] = { { "point", false, false }, { "kind", false, false }, { "x", true, false }, { "y", true, false },
        { "remarks", false, false } };
    struct table table;
    fputc('\n', out);
    tell_line(out, "", "  ", "Points: x along the length from %s, y to the left of it; of a post its centre", corner_name(b, SITE_FIRST));
    fputs("  crossing: of two strings; outer faces: where those of two walls' posts meet\n", out);
    table_open(&table, columns, sizeof columns / sizeof columns[0]);
    for (size_t i = 0; i < b->points; i++) {
        const struct building_point *p = &b->point[i];
        struct remark remark = { 0 };
        given_remark(b, p, t, &remark);
        table_cell(&table, name_of(b, p->name));
        table_cell(&table, part_shown[p->part]);
        table_length(&table, p->at.x, t->first);
        table_length(&table, p->at.y, t->first);
        table_cell(&table, remark.text);
    }
    return table_print(&table, out);
}

int
sheet_site(const struct building *b, FILE *out)
{
    struct taped t = taped_of(b->r);
    sheet_record_title(b->r, "Setting out", out);
    heading(b, &t, out);
    if (b->near > 0)
        fprintf(out, "  %zu batten%s NEARER than that, by points that the record gives\n", b->near, b->near == 1 ? " stands" : "s stand");
    if (rectangles(b, &t, out) != 0 || battens(b, &t, out) != 0)
        return -1;
    for (size_t i = 0; i < b->strings; i++)
        if (string(b, &b->string[i], &t, out) != 0)
            return -1;
    if (doors(b, &t, out) != 0 || points(b, &t, out) != 0)
        return -1;
    fputs("\nMark all running distances of a string from its one end, tape held fast, so that no error of one\n"
          "goes into the next. Keep posts off the strings: the same gap at each, by a spacer. Apart: from a\n"
          "batten's mark to the same one on the facing batten. To crossing: along its string to the other.\n"
          "This is no boundary survey, design or permit. Have buried services located and marked before\n"
          "stakes are driven or holes are dug. A taut line whips where it slips or breaks.\n",
        out);
    return 0;
}

/* ---- as JSON ---- */

static void
put_rectangles(struct writer *w, const struct building *b)
{
    static const char *const words[] = { "footprint", "posts", "strings" }; /* enum site_outline_of */
    open_list(w, KEY("lines"));
    for (int i = 0; i < SITE_OUTLINES; i++) {
        const struct site_outline *r = &b->outline[i];
        open_object(w);
        text(w, KEY("of"), words[i]);
        number(w, KEY("length"), true, r->along);
        number(w, KEY("width"), true, r->across);
        number(w, KEY("diagonal"), true, r->diagonal);
        close_object(w);
    }
    close_list(w);
    open_member(w, KEY("triangle"));
    number(w, KEY("along"), b->has_triangle, b->triangle.along);
    number(w, KEY("across"), b->has_triangle, b->triangle.across);
    number(w, KEY("between"), b->has_triangle, b->triangle.between);
    close_object(w);
}

static void
put_battens(struct writer *w, const struct building *b)
{
    open_list(w, KEY("battens"));
    for (uint32_t i = 0; i < SITE_BATTENS; i++) {
        const struct site_batten *one = &b->batten[i];
        open_object(w);
        text(w, KEY("at"), batten_name(b, i));
        text(w, KEY("string"), side_words[one->side]);
        number(w, KEY("face_mark"), true, one->face);
        number(w, KEY("string_mark"), true, one->string);
        text(w, KEY("facing"), batten_name(b, one->facing));
        number(w, KEY("apart"), true, one->apart);
        number(w, KEY("apart_footprint"), true, one->apart_footprint);
        number(w, KEY("past_crossing"), true, one->beyond);
        close_object(w);
    }
    close_list(w);
}

static void
put_string(struct writer *w, const struct building *b, const struct building_string *s)
{
    open_object(w);
    text(w, KEY("string"), side_words[s->side]);
    text(w, KEY("row"), row_name(b, s->row));
    text(w, KEY("from"), name_of(b, s->from));
    text(w, KEY("to"), name_of(b, s->to));
    number(w, KEY("length"), true, s->line.size);
    number(w, KEY("from_front"), s->side == SITE_INSIDE, s->off);
    open_list(w, KEY("marks"));
    for (size_t i = s->first; i < s->first + s->marks; i++) {
        const struct site_mark *m = &b->mark[i];
        open_object(w);
        text(w, KEY("at"), post_name(b, m->post));
        text(w, KEY("measured_to"), measure_words[m->to]);
        number(w, KEY("mark"), true, m->mark);
        number(w, KEY("from_last"), true, m->mark - (i > s->first ? b->mark[i - 1].mark : 0));
        number(w, KEY("centre"), true, m->centre);
        number(w, KEY("near_face"), true, m->near);
        number(w, KEY("far_face"), true, m->far);
        close_object(w);
    }
    close_list(w);
    close_object(w);
}

static void
put_rows(struct writer *w, const struct building *b)
{
    open_list(w, KEY("rows"));
    for (uint32_t i = 0; i < b->from->rows; i++) {
        open_object(w);
        text(w, KEY("row"), row_name(b, i));
        text(w, KEY("wall"), side_words[b->row[i].side]);
        count(w, KEY("posts"), true, b->row_post[i + 1] - b->row_post[i]);
        close_object(w);
    }
    close_list(w);
    open_list(w, KEY("doors"));
    for (uint32_t i = 0; i < b->from->doors; i++) {
        open_object(w);
        text(w, KEY("row"), row_name(b, b->door[i].row));
        number(w, KEY("from"), true, b->door[i].from);
        number(w, KEY("to"), true, b->door[i].to);
        number(w, KEY("opening"), true, b->door[i].to - b->door[i].from);
        text(w, KEY("post_before"), post_name(b, b->beside[i][0]));
        text(w, KEY("post_behind"), post_name(b, b->beside[i][1]));
        close_object(w);
    }
    close_list(w);
}

static void
put_points(struct writer *w, const struct building *b)
{
    open_list(w, KEY("points"));
    for (size_t i = 0; i < b->points; i++) {
        const struct building_point *p = &b->point[i];
        const struct record_point *given = p->given == RECORD_NONE ? NULL : &b->r->point[p->given];
        open_object(w);
        text(w, KEY("at"), name_of(b, p->name));
        text(w, KEY("kind"), part_words[p->part]);
        number(w, KEY("x"), true, p->at.x);
        number(w, KEY("y"), true, p->at.y);
        count(w, KEY("given_entry"), given != NULL, given ? (uint64_t)given->entry + 1 : 0);
        number(w, KEY("given_x"), given && given->placed, given ? given->x : 0);
        number(w, KEY("given_y"), given && given->placed, given ? given->y : 0);
        truth(w, KEY("holds"), true, !given || given->entry < b->from->entry);
        close_object(w);
    }
    close_list(w);
}

int
sheet_site_data(const struct building *b, const struct sheet_table *table, FILE *out)
{
    struct writer w;
    const struct record *r = b->r;
    writer_open(&w, table, out, r->job.unit);
    writer_begin(&w, "rodbook/site/1", r);
    open_member(&w, KEY("site"));
    count(&w, KEY("entry"), true, (uint64_t)b->from->entry + 1);
    number(&w, KEY("length"), true, b->site.along);
    number(&w, KEY("width"), true, b->site.across);
    number(&w, KEY("post_along"), true, b->site.post_along);
    number(&w, KEY("post_across"), true, b->site.post_across);
    number(&w, KEY("nailed"), true, b->site.nailed);
    number(&w, KEY("string"), true, b->site.string);
    truth(&w, KEY("string_stated"), true, b->from->has_string);
    number(&w, KEY("set_back"), true, b->site.set_back);
    truth(&w, KEY("set_back_stated"), true, b->from->has_set_back);
    count(&w, KEY("posts"), true, b->posts);
    count(&w, KEY("battens_near"), true, b->near);
    close_object(&w);
    put_rectangles(&w, b);
    put_battens(&w, b);
    open_list(&w, KEY("strings"));
    for (size_t i = 0; i < b->strings; i++)
        put_string(&w, b, &b->string[i]);
    close_list(&w);
    put_rows(&w, b);
    put_points(&w, b);
    put(&w, "}\n");
    return writer_close(&w);
}
