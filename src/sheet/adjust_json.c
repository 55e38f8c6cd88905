/* adjust_json.c - an adjustment as JSON, streamed. docs/json.md has the schema. */
#include "writer.h"

#include <stdlib.h>
#include <string.h>

static const char *
sight_word(const struct adjust *a, const struct adjust_observation *of)
{
    static const char *const words[] = { "bs", "is", "fs" }; /* enum level_kind */
    return words[a->job->sight[of->index].kind];
}

/* A length in metres, in the job's unit; below 0 it is unknown, where it cannot be below 0. */
static void
put_metres(struct writer *w, const char *written, size_t n, bool known, double metres)
{
    writer_real(w, written, n, known, metres * (double)LENGTH_M / w->unit_nm);
}

static void
put_sigmas(struct writer *w, const struct fit *f, double sigma)
{
    put_metres(w, KEY("sigma"), sigma >= 0, sigma);
    put_metres(w, KEY("sigma_fit"), sigma >= 0 && f->a->freedom > 0, fit_scaled(f, sigma));
}

static void
put_fit(struct writer *w, const struct fit *f)
{
    static const char *const words[] = { NULL, "within", "worse", "better" }; /* enum fit_verdict */
    const struct adjust *a = f->a;
    bool tested = f->verdict != FIT_UNTESTED;
    open_member(w, KEY("fit"));
    count(w, KEY("observations"), true, a->observations);
    count(w, KEY("elevations"), true, a->points);
    count(w, KEY("setups"), true, a->net.nodes - a->points);
    count(w, KEY("freedom"), true, a->freedom);
    writer_real(w, KEY("unit_given"), true, 1);
    writer_real(w, KEY("unit_fit"), a->freedom > 0, f->unit);
    writer_real(w, KEY("sum_squares"), true, a->vpv);
    writer_real(w, KEY("confidence"), true, f->confidence * 100);
    writer_real(w, KEY("least"), tested, f->low);
    writer_real(w, KEY("most"), tested, f->high);
    text(w, KEY("verdict"), words[f->verdict]);
    writer_real(w, KEY("normal_level"), true, FIT_LOCAL_LEVEL);
    writer_real(w, KEY("normal_limit"), true, f->normal_limit);
    writer_real(w, KEY("power"), true, FIT_POWER);
    writer_real(w, KEY("tau_level"), f->tau_limit > 0, f->tau_level);
    writer_real(w, KEY("tau_limit"), f->tau_limit > 0, f->tau_limit);
    count(w, KEY("beyond"), true, f->beyond);
    put_metres(w, KEY("reading_sigma"), true, a->job->r->job.sigma);
    put_metres(w, KEY("reading_sigma_fit"), a->freedom > 0, fit_scaled(f, a->job->r->job.sigma));
    close_object(w);
}

static void
put_adjusted_point(struct writer *w, const struct fit *f, uint32_t i)
{
    static const char *const words[] = { NULL, "held", "checked", "once", "spur" }; /* enum fit_check */
    const struct job *job = f->a->job;
    length value = 0;
    double sigma = 0;
    if (!job->spot[i].shown || !adjust_spot(f->a, i, &value, &sigma))
        return;
    open_object(w);
    text(w, KEY("at"), spot_name(job, i));
    text(w, KEY("on"), spot_on(job, i));
    count(w, KEY("position"), true, job->spot[i].position);
    number(w, KEY("adjusted"), true, value);
    put_sigmas(w, f, sigma);
    text(w, KEY("check"), words[f->check[i]]);
    count(w, KEY("piece"), f->piece_of[i] != LEVEL_NONE, (uint64_t)f->piece_of[i] + 1);
    close_object(w);
}

static void
put_setup(struct writer *w, const struct fit *f, uint32_t leg)
{
    char name[SHEET_WORDS];
    length value = 0;
    double sigma = 0;
    if (!adjust_hi(f->a, leg, &value, &sigma))
        return;
    setup_name(name, f->a->job, leg);
    open_object(w);
    text(w, KEY("setup"), name);
    number(w, KEY("hi"), true, value);
    put_sigmas(w, f, sigma);
    truth(w, KEY("checked"), true, f->setup_checked[leg]);
    close_object(w);
}

static void
put_observation(struct writer *w, const struct fit *f, size_t i)
{
    const struct adjust *a = f->a;
    const struct adjust_observation *of = &a->of[i];
    const struct fit_observation *o = &f->observation[i];
    bool section = of->kind == ADJUST_SECTION, checked = o->redundancy > 0;
    uint32_t row = of->kind == ADJUST_READING ? a->job->sight_row[of->index] : JOB_NONE;
    const struct record *r = a->job->r;
    char name[SHEET_WORDS];
    if (of->kind == ADJUST_READING)
        setup_name(name, a->job, of->leg);
    open_object(w);
    count(w, KEY("number"), true, i + 1);
    text(w, KEY("kind"), of->kind == ADJUST_READING ? sight_word(a, of) : section ? "section" : "mark");
    count(w, KEY("entry"), true,
        (uint64_t)(row != JOB_NONE ? record_row_entry(r, row) : section ? r->section[of->index].entry : r->mark[of->index].entry) + 1);
    count(w, KEY("row"), of->kind != ADJUST_MARK, row != JOB_NONE ? record_row_number(r, row) : section ? r->section[of->index].number : 0);
    text(w, KEY("setup"), row != JOB_NONE ? name : NULL);
    text(w, KEY("at"), section ? NULL : spot_name(a->job, of->spot));
    text(w, KEY("on"), section ? NULL : spot_on(a->job, of->spot));
    text(w, KEY("from"), section ? spot_name(a->job, a->job->leg[of->leg].from) : NULL);
    text(w, KEY("to"), section ? spot_name(a->job, a->job->leg[of->leg].to) : NULL);
    number(w, KEY("observed"), true, o->observed);
    put_metres(w, KEY("sigma_given"), true, of->sigma);
    put_metres(w, KEY("residual"), checked, o->residual);
    put_sigmas(w, f, o->sigma);
    writer_real(w, KEY("redundancy"), true, o->redundancy);
    writer_real(w, KEY("normalised"), checked, o->normalised);
    writer_real(w, KEY("studentised"), o->studentised >= 0, o->studentised);
    put_metres(w, KEY("detectable"), checked, o->detectable);
    truth(w, KEY("normal_test"), checked, !o->normal_beyond);
    truth(w, KEY("tau_test"), f->tau_limit > 0 && o->studentised >= 0, !o->tau_beyond);
    close_object(w);
}

static void
put_loop(struct writer *w, const struct fit *f, const struct adjust_loop *loop, uint32_t *spot)
{
    const struct job *job = f->a->job;
    size_t n = adjust_loop_spots(f->a, &f->loops, loop, spot);
    bool limit = loop->within != LEVEL_NOT_JUDGED;
    char word[SHEET_WORDS * 2];
    open_object(w);
    number(w, KEY("misclosure"), true, loop->misclosure);
    put_metres(w, KEY("allowed"), limit, loop->allowed_nm / (double)LENGTH_M);
    truth(w, KEY("within"), limit, loop->within == LEVEL_WITHIN);
    put_metres(w, KEY("sigma"), true, loop->sigma);
    writer_real(w, KEY("ratio"), true, fit_loop_ratio(loop));
    count(w, KEY("setups"), loop->setups_known && loop->setups > 0, loop->setups);
    number(w, KEY("dist"), loop->dist > 0, loop->dist);
    open_list(w, KEY("over"));
    for (size_t i = 0; i < n; i++) {
        spot_words(word, job, spot[i], "");
        put(w, i ? "," : "");
        writer_quote(w, word);
    }
    close_list(w);
    open_list(w, KEY("walked"));
    for (uint32_t i = loop->first; i < loop->first + loop->count; i++) {
        uint32_t tie = f->loops.way[i];
        bool adds = f->loops.forward[i] != (f->a->of[tie].kind == ADJUST_READING); /* down to a point a reading is taken off */
        put(w, i > loop->first ? "," : "");
        put(w, adds ? "" : "-");
        put_bytes(w, word, (size_t)(put_count(word, (uint64_t)tie + 1) - word));
    }
    close_list(w);
    close_object(w);
}

static void
put_piece(struct writer *w, const struct fit *f, const struct fit_piece *piece)
{
    open_object(w);
    text(w, KEY("at"), spot_name(f->a->job, piece->spot));
    text(w, KEY("on"), spot_on(f->a->job, piece->spot));
    count(w, KEY("points"), true, piece->points);
    count(w, KEY("setups"), true, piece->setups);
    count(w, KEY("observations"), true, piece->observations);
    count(w, KEY("freedom"), true, piece->freedom);
    close_object(w);
}

int
sheet_adjust_data(const struct fit *f, const struct sheet_table *table, FILE *out)
{
    const struct job *job = f->a->job;
    struct writer w;
    uint32_t *spot = loop_room(f);
    if (!spot)
        return -1;
    writer_open(&w, table, out, job->r->job.unit);
    writer_begin(&w, "rodbook/adjust/1", job->r);
    put_fit(&w, f);
    open_list(&w, KEY("points"));
    for (uint32_t i = 0; i < job->spots; i++)
        put_adjusted_point(&w, f, i);
    close_list(&w);
    open_list(&w, KEY("setups"));
    for (uint32_t i = 0; i < job->legs; i++)
        put_setup(&w, f, i);
    close_list(&w);
    open_list(&w, KEY("observations"));
    for (size_t i = 0; i < f->a->observations; i++)
        put_observation(&w, f, i);
    close_list(&w);
    open_list(&w, KEY("loops"));
    for (size_t i = 0; i < f->loops.loops; i++)
        put_loop(&w, f, &f->loops.loop[f->loop_order[i]], spot);
    close_list(&w);
    open_list(&w, KEY("pieces"));
    for (size_t i = 0; i < f->pieces; i++)
        put_piece(&w, f, &f->piece[i]);
    close_list(&w);
    put(&w, "}\n");
    free(spot);
    return writer_close(&w);
}
