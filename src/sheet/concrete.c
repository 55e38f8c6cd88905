/* concrete.c - what the holes take, as text and as JSON */
#include "parts.h"
#include "writer.h"

#include "rodbook/order.h"

#include <inttypes.h>
#include <string.h>

static bool
metric(const struct order *o)
{
    return o->posts->job->r->job.unit == LENGTH_BARE_M;
}

/* ---- words ---- */

/* A volume in the job's cubic unit: "2.10", "0.059". */
static void
volume_words(char out[SHEET_WORDS], double v, const struct order *o)
{
    if (metric(o))
        snprintf(out, SHEET_WORDS, "%.3f", v);
    else
        snprintf(out, SHEET_WORDS, "%.2f", v / SITE_FT3);
}

/* With its unit; in feet in yards as well. */
static void
total_words(char out[SHEET_WORDS], double v, const struct order *o)
{
    if (metric(o))
        snprintf(out, SHEET_WORDS, "%.3f m3", v);
    else
        snprintf(out, SHEET_WORDS, "%.2f ft3 (%.2f yd3)", v / SITE_FT3, v / SITE_YD3);
}

static void
size_words(char out[SHEET_WORDS], length size, const struct order *o)
{
    char text[LENGTH_TEXT];
    length_print(text, size, metric(o) ? (struct length_style){ LENGTH_AS_MM, 0, 0 } : (struct length_style){ LENGTH_AS_IN, 0, 16 });
    stpcpy(stpcpy(out, text), metric(o) ? " mm" : " in");
}

/* To what the crew measures moves to. */
static void
depth_words(char out[SHEET_WORDS], length depth, const struct order *o)
{
    char text[LENGTH_TEXT];
    length_print(text, depth, sheet_style_of(o->posts->job->r).move);
    stpcpy(stpcpy(out, text), metric(o) ? " mm" : " in");
}

/* Hundredths of an inch: a diagonal has no fraction that a rule shows. */
static void
least_words(char out[SHEET_WORDS], length size, const struct order *o)
{
    if (metric(o))
        size_words(out, size, o);
    else
        snprintf(out, SHEET_WORDS, "%.2f in", (double)size / (double)LENGTH_IN);
}

static void
post_words(char out[SHEET_WORDS * 2], const struct order *o)
{
    char across[SHEET_WORDS];
    size_words(out, o->post.along, o);
    if (o->post.round) {
        stpcpy(out + strlen(out), " round");
        return;
    }
    size_words(across, o->post.across, o);
    stpcpy(stpcpy(out + strlen(out), " x "), across);
}

/* ---- how it is filled ---- */

static void
wide_line(const struct order *o, const char *what, length diameter, length height, const char *how, FILE *out)
{
    char across[SHEET_WORDS], high[SHEET_WORDS];
    if (height <= 0)
        return;
    size_words(across, diameter, o);
    size_words(high, height, o);
    fprintf(out, "  %s %s across, %s high, %s\n", what, across, high, how);
}

static void
fill_lines(const struct order *o, FILE *out)
{
    const struct record_concrete *c = o->from;
    char words[SHEET_WORDS * 2];
    size_words(words, c->fill_by, o);
    fprintf(out, "\nConcrete, entry %" PRIu32 ": ", c->entry + 1);
    if (c->fill == RECORD_FILL_TO_GROUND)
        fputs("filled to the ground\n", out);
    else
        fprintf(out, "filled to %s %s\n", words, c->fill == RECORD_FILL_THICK ? "thick" : "below the ground");
    wide_line(o, "bell at the bottom", c->bell_diameter, c->bell_height, "the frustum of a cone: pi h (D^2 + D d + d^2) / 12", out);
    wide_line(o, "collar at the top", c->collar_diameter, c->collar_height, "a cylinder: pi d^2 h / 4", out);
    if (c->footing >= 0)
        fprintf(out, "  footings are %s\n", c->footing == RECORD_FOOTING_POURED ? "poured, and counted" : "laid, and not counted");
    if (o->posts->asked.from == RECORD_FROM_GRADE)
        fputs("  the ground is the grade that depths are measured from\n", out);
    if (o->post.along == 0) {
        fputs("  no post size is stated: nothing is taken off for posts\n", out);
        return;
    }
    post_words(words, o);
    fprintf(out, "  posts %s%s are taken off\n", words, o->post_of_site ? ", as the building has them," : "");
}

/* ---- holes ---- */

static void
hole_remarks(const struct order *o, const struct order_hole *h, struct remark *remark)
{
    const struct posts_one *one = &o->posts->one[h->post];
    if (h->no_diameter)
        remark_add(remark, "no diameter is stated");
    if (h->no_footing)
        remark_add(remark, "is the footing poured or laid?");
    if (h->by == ORDER_DEPTH_NONE)
        remark_add(remark, "hole not read, and no depth asked for");
    if (h->by == ORDER_DEPTH_PLANNED && one->level[POSTS_HOLE].spot == JOB_NONE)
        remark_add(remark, "hole not read: as asked for");
    else if (h->by == ORDER_DEPTH_PLANNED && one->dig.verdict == SITE_DIG_DEEPER)
        remark_add(remark, "to be dug on: as asked for");
    else if (h->by == ORDER_DEPTH_PLANNED)
        remark_add(remark, "ground not known: as asked for");
    if (h->narrow)
        remark_add(remark, "NARROW");
}

static void
volume_cell(struct table *t, bool known, double v, const struct order *o)
{
    char words[SHEET_WORDS];
    if (known)
        volume_words(words, v, o);
    table_cell(t, known ? words : "-");
}

static void
hole_row(const struct order *o, const struct order_hole *h, struct table *t)
{
    const struct posts_one *one = &o->posts->one[h->post];
    char words[SHEET_WORDS];
    struct remark remark = { 0 };
    table_cell(t, names_text(&o->posts->job->r->names, one->at));
    if (!h->no_diameter)
        size_words(words, one->asked.diameter, o);
    table_cell(t, h->no_diameter ? "-" : words);
    if (h->by != ORDER_DEPTH_NONE)
        depth_words(words, h->depth, o);
    table_cell(t, h->by == ORDER_DEPTH_NONE ? "-" : words);
    volume_cell(t, h->known, h->v.hole, o);
    volume_cell(t, h->known && o->post.along > 0, h->v.post, o);
    volume_cell(t, h->known, h->v.concrete, o);
    volume_cell(t, h->known, h->with_waste, o);
    snprintf(words, sizeof words, "%.2f", h->bags);
    table_cell(t, o->from->bag_yield > 0 ? h->known ? words : "-" : NULL);
    hole_remarks(o, h, &remark);
    table_cell(t, remark.text);
}

static int
holes_table(const struct order *o, FILE *out)
{
    const struct table_column columns[] = { { "at", false, false }, { "across", true, false }, { "depth", true, false },
        { "hole", true, false }, { "post", true, false }, { "concrete", true, false }, { "with waste", true, false },
        { "bags", true, false }, { "remarks", false, false } };
    struct table t;
    table_open(&t, columns, sizeof columns / sizeof columns[0]);
    for (size_t i = 0; i < o->posts->n; i++)
        hole_row(o, &o->hole[i], &t);
    fprintf(out, "\nHoles, volumes in %s\n", metric(o) ? "m3" : "ft3");
    return table_print(&t, out);
}

/* ---- the order ---- */

static void
bag_line(const struct order *o, FILE *out)
{
    const struct record_concrete *c = o->from;
    if (!(c->bag_yield > 0)) {
        fprintf(out, "  bags: no yield is stated; read it off the bag in hand, say %s, and book it as bag\n",
            metric(o) ? "12 L and 25 kg" : "0.60 ft3 and 80 lb");
        return;
    }
    if (metric(o))
        fprintf(out, "  or %.0f bags of %.4g kg, %.4g L each as stated (%.0f kg/m3; %.4g to the m3)\n", o->bags, c->bag_mass,
            c->bag_yield / SITE_LITRE, o->bag_density, 1 / c->bag_yield);
    else
        fprintf(out, "  or %.0f bags of %.4g lb, %.2f ft3 each as stated (%.1f lb/ft3; %.4g to the yard)\n", o->bags, c->bag_mass / SITE_LB,
            c->bag_yield / SITE_FT3, o->bag_density / SITE_LB * SITE_FT3, o->bags_to_yard);
}

static void
load_line(const struct order *o, FILE *out)
{
    const char *stated = o->step_stated ? "as stated" : "the usual step";
    if (metric(o))
        fprintf(out, "  order %.2f m3 ready-mixed, in steps of %.2f m3, %s\n", o->load, o->step, stated);
    else
        fprintf(out, "  order %.2f yd3 ready-mixed, in steps of %.2f yd3, %s\n", o->load / SITE_YD3, o->step / SITE_YD3, stated);
}

static void
spoil_line(const struct order *o, FILE *out)
{
    char dug[SHEET_WORDS], loose[SHEET_WORDS];
    total_words(dug, o->sum.hole, o);
    if (o->hauled < 0) {
        tell_line(out, "  ", "    ", "spoil: %s as it stands in the ground; loose it is more, and no bulking is stated", dug);
        return;
    }
    total_words(loose, o->hauled, o);
    tell_line(out, "  ", "    ", "spoil: %s as it stands, %s loose with %.4g %% bulking as stated", dug, loose, 100 * o->from->bulking);
}

static void
order_lines(const struct order *o, FILE *out)
{
    char words[SHEET_WORDS], with[SHEET_WORDS];
    total_words(words, o->sum.concrete, o);
    total_words(with, o->with_waste, o);
    fprintf(out, "\n%zu of %zu holes", o->known, o->posts->n);
    if (o->left > 0)
        fprintf(out, ", %zu LEFT OUT", o->left);
    if (o->known == 0) {
        fputs(": nothing can be ordered yet\n", out);
        return;
    }
    fprintf(out, ": concrete %s\n  with %.4g %% for waste (%s): %s\n", words, 100 * o->waste,
        o->waste_stated ? "the crew's figure" : "the usual figure; none is stated", with);
    load_line(o, out);
    bag_line(o, out);
    spoil_line(o, out);
    if (o->planned > 0)
        fprintf(out, "  %zu of them by the depth asked for, not by the hole\n", o->planned);
}

/* ---- notes ---- */

static void
narrow_lines(const struct order *o, FILE *out)
{
    char least[SHEET_WORDS], words[SHEET_WORDS * 2];
    if (o->post.along == 0)
        return;
    least_words(least, site_concrete_least(&o->post), o);
    post_words(words, o);
    fprintf(out, "\nFor posts %s, the International Building Code, 1807.3.3, wants holes\n"
                 "%s or more across where concrete holds the post: %s beyond its %s.\nThe local code decides.\n",
        words, least, metric(o) ? "102 mm (4 in)" : "4 in", o->post.round ? "diameter" : "diagonal");
}

static void
notes(const struct order *o, FILE *out)
{
    char aim[SHEET_WORDS];
    size_words(aim, o->slump, o);
    fprintf(out, "\nSlump: aim at %s, %s; read to %s (ASTM C143)%s.\nACI 211.1 has %s for footings%s.\n", aim,
        o->slump_stated ? "as stated" : "common practice", metric(o) ? "6 mm, a quarter inch" : "1/4 in",
        o->slump_odd ? ", and THIS IS NO WHOLE QUARTER" : "", metric(o) ? "25 to 76 mm (1 to 3 in)" : "1 to 3 in",
        o->slump_unusual ? ": THIS IS OUTSIDE IT" : "");
    fputs("Stiffer is better than wetter: water that is added lets posts float and lean. Let it set overnight\n"
          "before anything pulls at a post (common practice). Augers cut holes larger than their size: measure\n"
          "one, and state that. Spoil is all that is dug; what goes back above the concrete is not taken off.\n"
          "\nWet concrete burns skin and eyes, without pain at first: waterproof gloves, boots and eye\n"
          "protection; rinse long with clean water. Do not breathe its dust. Two people to a heavy bag.\n",
        out);
}

int
sheet_concrete(const struct order *o, FILE *out)
{
    sheet_title(o->posts->job, "Concrete", out);
    if (o->posts->job->work.links > 0)
        sheet_closures(o->posts->job, out);
    fill_lines(o, out);
    if (holes_table(o, out) != 0)
        return -1;
    order_lines(o, out);
    narrow_lines(o, out);
    notes(o, out);
    return 0;
}

/* ---- as JSON ---- */

static void
whole(struct writer *w, const char *written, size_t n, bool known, double value)
{
    char out[64];
    key(w, written, n);
    snprintf(out, sizeof out, "%.0f", value);
    put(w, known ? out : "null");
}

static void
put_volume(struct writer *w, const char *written, size_t n, bool known, double v, const struct order *o)
{
    writer_real(w, written, n, known, metric(o) ? v : v / SITE_FT3);
}

static void
put_hole(struct writer *w, const struct order *o, const struct order_hole *h)
{
    static const char *const by[] = { NULL, "hole", "asked" }; /* enum order_depth */
    const struct posts_one *one = &o->posts->one[h->post];
    open_object(w);
    text(w, KEY("at"), names_text(&o->posts->job->r->names, one->at));
    number(w, KEY("diameter"), !h->no_diameter, one->asked.diameter);
    number(w, KEY("depth"), h->by != ORDER_DEPTH_NONE, h->depth);
    text(w, KEY("depth_by"), by[h->by]);
    number(w, KEY("least_diameter"), h->least > 0, h->least);
    truth(w, KEY("narrow"), h->least > 0 && !h->no_diameter, h->narrow);
    number(w, KEY("foot"), h->known, h->foot);
    number(w, KEY("thick"), h->known, h->thick);
    put_volume(w, KEY("hole"), h->known, h->v.hole, o);
    put_volume(w, KEY("post"), h->known && o->post.along > 0, h->v.post, o);
    put_volume(w, KEY("concrete"), h->known, h->v.concrete, o);
    put_volume(w, KEY("with_waste"), h->known, h->with_waste, o);
    writer_real(w, KEY("bags"), h->known && o->from->bag_yield > 0, h->bags);
    close_object(w);
}

static void
put_order(struct writer *w, const struct order *o)
{
    const struct record_concrete *c = o->from;
    bool some = o->known > 0, bag = c->bag_yield > 0;
    open_member(w, KEY("order"));
    count(w, KEY("holes"), true, o->known);
    count(w, KEY("left_out"), true, o->left);
    count(w, KEY("by_depth_asked"), true, o->planned);
    put_volume(w, KEY("hole"), some, o->sum.hole, o);
    put_volume(w, KEY("post"), some && o->post.along > 0, o->sum.post, o);
    put_volume(w, KEY("concrete"), some, o->sum.concrete, o);
    writer_real(w, KEY("waste"), true, 100 * o->waste);
    truth(w, KEY("waste_stated"), true, o->waste_stated);
    put_volume(w, KEY("with_waste"), some, o->with_waste, o);
    whole(w, KEY("bags"), some && bag, o->bags);
    put_volume(w, KEY("bag_yield"), bag, c->bag_yield, o);
    writer_real(w, KEY("bag_mass"), bag, metric(o) ? c->bag_mass : c->bag_mass / SITE_LB);
    writer_real(w, KEY("bag_density"), bag, metric(o) ? o->bag_density : o->bag_density / SITE_LB * SITE_FT3);
    writer_real(w, KEY("bags_to_yard"), bag, o->bags_to_yard);
    put_volume(w, KEY("load"), some, o->load, o);
    put_volume(w, KEY("step"), true, o->step, o);
    put_volume(w, KEY("spoil"), some, o->sum.hole, o);
    put_volume(w, KEY("spoil_loose"), some && o->hauled >= 0, o->hauled, o);
    number(w, KEY("slump"), true, o->slump);
    truth(w, KEY("slump_stated"), true, o->slump_stated);
    truth(w, KEY("slump_unusual"), true, o->slump_unusual);
    close_object(w);
}

int
sheet_concrete_data(const struct order *o, const struct sheet_table *table, FILE *out)
{
    const struct record *r = o->posts->job->r;
    struct writer w;
    writer_open(&w, table, out, r->job.unit);
    writer_begin(&w, "rodbook/concrete/1", r);
    count(&w, KEY("entry"), true, (uint64_t)o->from->entry + 1);
    truth(&w, KEY("good"), true, o->good);
    open_list(&w, KEY("holes"));
    for (size_t i = 0; i < o->posts->n; i++)
        put_hole(&w, o, &o->hole[i]);
    close_list(&w);
    put_order(&w, o);
    put(&w, "}\n");
    return writer_close(&w);
}
