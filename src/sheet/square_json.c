/* square_json.c - what was taped, as JSON */
#include "writer.h"

#include "rodbook/square.h"

#include <math.h>

#define DEGREES 57.29577951308232 /* in a radian: 180 / pi */

static const char *const verdict_words[] = { NULL, "leave", "unsure", "move" }; /* enum square_verdict */

static void
metres(struct writer *w, const char *written, size_t n, bool known, double m)
{
    number(w, written, n, known, known ? (length)llround(m * (double)LENGTH_M) : 0);
}

static const char *
name(const struct square *s, uint32_t at)
{
    return names_text(&s->r->names, at);
}

static void
put_length_row(struct writer *w, const struct square *s, const struct square_length *l)
{
    bool taped = l->count > 0;
    open_object(w);
    text(w, KEY("from"), name(s, l->a));
    text(w, KEY("to"), name(s, l->b));
    count(w, KEY("taped"), true, l->count);
    metres(w, KEY("read"), taped, l->read);
    metres(w, KEY("correction"), taped, l->correction);
    metres(w, KEY("mean"), taped, l->mean);
    metres(w, KEY("apart"), l->count > 1, l->apart);
    metres(w, KEY("adjusted"), l->known, l->adjusted);
    deviation(w, KEY("sigma"), l->known ? l->sigma : -1);
    metres(w, KEY("residual"), taped && l->known, l->residual);
    writer_real(w, KEY("redundancy"), taped && l->known, l->redundancy);
    metres(w, KEY("intended"), l->intended, l->intent);
    metres(w, KEY("off"), l->intended && l->known, l->adjusted - l->intent);
    metres(w, KEY("tolerance"), l->tolerance > 0, l->tolerance);
    text(w, KEY("verdict"), verdict_words[l->verdict]);
    metres(w, KEY("lay_out"), l->lay_out > 0, l->lay_out);
    close_object(w);
}

static void
put_reading(struct writer *w, const struct square *s, const struct square_reading *r)
{
    bool tested = r->fit.redundancy > 0;
    open_object(w);
    count(w, KEY("entry"), true, (uint64_t)s->r->tape[r->row->tape].entry + 1);
    count(w, KEY("row"), true, r->row->number);
    text(w, KEY("from"), name(s, r->row->from));
    text(w, KEY("to"), name(s, r->row->to));
    number(w, KEY("read"), true, r->row->read);
    metres(w, KEY("length_correction"), true, r->c.length);
    metres(w, KEY("temp_correction"), true, r->c.temp);
    metres(w, KEY("pull_correction"), true, r->c.pull);
    metres(w, KEY("sag_correction"), true, r->c.sag);
    metres(w, KEY("slope_correction"), true, r->c.slope);
    metres(w, KEY("corrected"), true, r->c.corrected);
    metres(w, KEY("residual"), tested, r->fit.residual);
    writer_real(w, KEY("redundancy"), true, r->fit.redundancy);
    writer_real(w, KEY("normalised"), tested, r->fit.normalised);
    metres(w, KEY("alone_off"), tested, r->off);
    deviation(w, KEY("detectable"), tested ? r->detectable : -1);
    truth(w, KEY("beyond"), tested, r->beyond);
    truth(w, KEY("suspect"), true, r->suspect);
    close_object(w);
}

static void
put_corner(struct writer *w, const struct square *s, const struct square_figure *f, unsigned k)
{
    const struct square_corner *c = &f->corner[k];
    bool placed = c->known && f->shape == SQUARE_FRAME, out = f->shape == SQUARE_FRAME ? placed && f->intended : k == f->square_at;
    open_object(w);
    text(w, KEY("at"), name(s, c->name));
    metres(w, KEY("x"), placed, c->x);
    metres(w, KEY("y"), placed, c->y);
    deviation(w, KEY("sigma_x"), placed ? c->sigma_x : -1);
    deviation(w, KEY("sigma_y"), placed ? c->sigma_y : -1);
    writer_real(w, KEY("angle"), c->known, c->angle * DEGREES);
    writer_real(w, KEY("angle_sigma"), c->known, c->angle_sigma * DEGREES);
    writer_real(w, KEY("angle_intended"), out, c->right * DEGREES);
    metres(w, KEY("over"), out, c->over);
    metres(w, KEY("out"), out, c->out);
    deviation(w, KEY("out_sigma"), out ? c->out_sigma : -1);
    close_object(w);
}

static void
put_diagonals(struct writer *w, const struct square *s, const struct square_figure *f)
{
    bool known = f->shape == SQUARE_FRAME && f->fitted;
    double unit = (double)length_whole(s->r->job.unit) / (double)LENGTH_M;
    metres(w, KEY("diagonals_differ"), known, f->difference);
    deviation(w, KEY("diagonals_sigma"), known ? f->difference_sigma : -1);
    metres(w, KEY("diagonals_tolerance"), known && f->square > 0, f->square);
    text(w, KEY("diagonals_verdict"), known ? verdict_words[f->square_verdict] : NULL);
    writer_real(w, KEY("diagonals_squared"), f->sides2 > 0, f->diagonals2 / (unit * unit));
    writer_real(w, KEY("sides_squared"), f->sides2 > 0, f->sides2 / (unit * unit));
    metres(w, KEY("slide"), known, f->slide);
    deviation(w, KEY("slide_sigma"), known ? f->slide_sigma : -1);
}

static void
put_cure(struct writer *w, const struct square *s, const struct square_figure *f)
{
    static const char *const words[] = { "leave", "slide", "sides and slide", "places" }; /* enum site_frame_cure_kind */
    text(w, KEY("cure"), f->has_cure ? words[f->cure.kind] : NULL);
    open_list(w, KEY("moves"));
    for (unsigned k = 0; k < 4 && f->has_cure; k++) {
        open_object(w);
        text(w, KEY("at"), name(s, f->corner[k].name));
        metres(w, KEY("along"), true, f->cure.move[k].along);
        metres(w, KEY("across"), true, f->cure.move[k].across);
        close_object(w);
    }
    close_list(w);
    open_list(w, KEY("after"));
    for (uint32_t p = 0; p < SITE_FRAME_PAIRS && f->has_cure; p++) {
        const struct square_length *l = &s->length[f->first_length + p];
        open_object(w);
        text(w, KEY("from"), name(s, l->a));
        text(w, KEY("to"), name(s, l->b));
        metres(w, KEY("length"), true, f->cure.after[p]);
        close_object(w);
    }
    close_list(w);
}

static void
put_pair(struct writer *w, const struct square *s, const struct square_length *l)
{
    open_object(w);
    text(w, KEY("from"), name(s, l->a));
    text(w, KEY("to"), name(s, l->b));
    close_object(w);
}

static void
put_doubts(struct writer *w, const struct square *s, const struct square_figure *f)
{
    bool open = f->open_by > 0;
    open_list(w, KEY("missing"));
    for (uint32_t i = 0; i < f->lengths; i++)
        if (s->length[f->first_length + i].count == 0)
            put_pair(w, s, &s->length[f->first_length + i]);
    close_list(w);
    open_list(w, KEY("tape_again"));
    for (size_t i = 0; i < f->agains; i++)
        put_pair(w, s, &s->length[f->again[i]]);
    close_list(w);
    open_list(w, KEY("not_closing"));
    for (int k = 0; k < 3 && open; k++)
        put_pair(w, s, &s->length[f->first_length + f->open[k]]);
    close_list(w);
    metres(w, KEY("not_closing_by"), open, f->open_by);
}

static void
put_history(struct writer *w, const struct square *s, const struct square_figure *f)
{
    static const char *const words[] = { "done", "short", "past", "wrong way", "disturbed" }; /* enum site_moved */
    bool before = f->before != SQUARE_NONE;
    count(w, KEY("position"), true, f->position);
    truth(w, KEY("last"), true, !f->superseded);
    count(w, KEY("before"), before, before ? (uint64_t)s->r->tape[s->figure[f->before].tape].entry + 1 : 0);
    text(w, KEY("moved"), f->has_moved ? words[f->moved] : NULL);
    metres(w, KEY("asked"), f->has_moved, f->asked);
    metres(w, KEY("done"), f->has_moved, f->done);
}

static void
put_square_corner(struct writer *w, const struct square *s, const struct square_figure *f)
{
    bool known = f->shape == SQUARE_TRIANGLE && f->square_at < 3;
    text(w, KEY("square_at"), known ? name(s, f->corner[f->square_at].name) : NULL);
    metres(w, KEY("needs"), known, f->needs);
    metres(w, KEY("needs_off"), known, f->needs_off);
    deviation(w, KEY("needs_sigma"), known ? f->needs_sigma : -1);
    metres(w, KEY("needs_tolerance"), known && f->square > 0, f->square);
    text(w, KEY("needs_verdict"), known ? verdict_words[f->square_verdict] : NULL);
}

static void
put_figure(struct writer *w, const struct square *s, size_t which)
{
    const struct square_figure *f = &s->figure[which];
    static const char *const shapes[] = { "frame", "triangle", "length" }; /* enum square_shape */
    static const char *const states[] = { "good", "not judged", "unsure", "outside", "wanting", "misfit", "open" }; /* enum square_state */
    const struct record_tape *tape = &s->r->tape[f->tape];
    double pull = 0;
    bool pulled = square_normal_pull(tape, &pull);
    open_object(w);
    count(w, KEY("figure"), true, which + 1);
    text(w, KEY("shape"), shapes[f->shape]);
    count(w, KEY("entry"), true, (uint64_t)tape->entry + 1);
    put_history(w, s, f);
    text(w, KEY("state"), states[f->state]);
    deviation(w, KEY("sigma"), f->sigma);
    truth(w, KEY("sigma_stated"), true, f->has_sigma);
    number(w, KEY("tolerance"), f->has_tolerance, tape->tolerance);
    truth(w, KEY("guessed"), true, f->guessed);
    truth(w, KEY("intended"), true, f->intended);
    count(w, KEY("redundancy"), true, f->redundancy);
    writer_real(w, KEY("share"), f->redundancy > 0, f->share);
    truth(w, KEY("located"), f->state == SQUARE_MISFIT, f->located);
    open_list(w, KEY("lengths"));
    for (uint32_t i = 0; i < f->lengths; i++)
        put_length_row(w, s, &s->length[f->first_length + i]);
    close_list(w);
    open_list(w, KEY("readings"));
    for (uint32_t i = 0; i < f->lengths; i++)
        for (uint32_t k = 0; k < s->length[f->first_length + i].count; k++)
            put_reading(w, s, &s->reading[s->length[f->first_length + i].first + k]);
    close_list(w);
    open_list(w, KEY("corners"));
    for (unsigned k = 0; k < f->corners; k++)
        put_corner(w, s, f, k);
    close_list(w);
    put_diagonals(w, s, f);
    put_cure(w, s, f);
    put_doubts(w, s, f);
    put_square_corner(w, s, f);
    writer_real(w, KEY("normal_pull"), pulled, pull);
    close_object(w);
}

int
sheet_square_data(const struct square *s, const struct sheet_table *table, FILE *out)
{
    struct writer w;
    writer_open(&w, table, out, s->r->job.unit);
    writer_begin(&w, "rodbook/square/1", s->r);
    writer_real(&w, KEY("confidence"), true, s->confidence);
    count(&w, KEY("left_over"), true, s->left_over);
    open_list(&w, KEY("figures"));
    for (size_t i = 0; i < s->figures; i++)
        put_figure(&w, s, i);
    close_list(&w);
    put(&w, "}\n");
    return writer_close(&w);
}
