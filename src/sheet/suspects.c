/* suspects.c - the slip that most likely did it, in words for a crew; and the same as JSON */
#include "parts.h"

#include "capture.h"
#include "writer.h"

#include <inttypes.h>
#include <string.h>

#define SHOWN_MOST 10     /* suspects on the sheet, of each fault */
#define SHOTS_MOST 5      /* set-ups to shoot again */
#define LIST_MOST 200     /* suspects in the JSON, of each fault */
#define LINE 1152         /* two names of 80 bytes, and words */

/* ---- names ---- */

/* What the rod shows, in a crew's words. */
static const char *
slip_words(const struct suspects *s, const struct suspect *x)
{
    uint8_t slip = x->slip;
    enum length_unit unit = s->job->r->job.unit;
    static const char *const whole[] = { "a foot misread", "a foot misread", "a metre misread" }; /* by enum length_unit */
    static const char *const tenth[] = { "a tenth misread", "a tenth misread", "a decimetre misread" };
    static const char *const small[] = { "a hundredth misread", "an inch misread", "a centimetre misread" };
    static const char *const others[SUSPECT_SLIPS] = { [SUSPECT_DIGITS] = "two digits exchanged",
        [SUSPECT_SIX_NINE] = "6 and 9 taken for each other", [SUSPECT_THREE_EIGHT] = "3 and 8 taken for each other",
        [SUSPECT_INCHES] = "inches and tenths mixed", [SUSPECT_BEYOND_WHOLE] = "read on the wrong side of the foot figure",
        [SUSPECT_BEYOND_SMALL] = "read on the wrong side of a figure", [SUSPECT_TURN_COLUMNS] = "BS and FS exchanged",
        [SUSPECT_SETUP_COLUMNS] = "BS and FS exchanged", [SUSPECT_HAIR] = "a stadia hair read for the middle one",
        [SUSPECT_ROD] = "a section of the rod left out, or not run out", [SUSPECT_INSTRUMENT] = "instrument disturbed",
        [SUSPECT_TURN] = "turning point disturbed", [SUSPECT_MOVED] = "the mark moved, or its elevation is another",
        [SUSPECT_POINT] = "booked on the wrong point", [SUSPECT_OTHER] = "misread by some amount, no usual slip" };
    if (slip == SUSPECT_SIGN && s->reading[x->reading].source == SUSPECT_SECTION)
        return "a rise booked for a fall, or a fall for a rise";
    if (slip == SUSPECT_SIGN)
        return x->instead < 0 ? "the sign of an inverted rod left off" : "a sign where none belongs";
    return slip == SUSPECT_WHOLE ? whole[unit] : slip == SUSPECT_TENTH ? tenth[unit] : slip == SUSPECT_SMALL ? small[unit] : others[slip];
}

static void
on_spot(char out[SHEET_WORDS * 2], const struct suspects *s, uint32_t reading)
{
    spot_words(out, s->job, s->place[reading].spot, "");
}

/* "BS on TP1 in set-up 5.2 (row 5.8)", "section A to B", "BM1". */
static void
reading_words(char out[LINE], const struct suspects *s, uint32_t reading)
{
    static const char *const kinds[] = { "BS on ", "IS on ", "FS on ", "", "" }; /* enum suspect_source */
    const struct suspects_place *p = &s->place[reading];
    const struct record *r = s->job->r;
    char spot[SHEET_WORDS * 2], setup[SHEET_WORDS];
    if (p->section != JOB_NONE) {
        const struct record_section *section = &r->section[p->section];
        snprintf(out, LINE, "section %s to %s (row %" PRIu32 ".%" PRIu32 ")", names_text(&r->names, section->from),
            names_text(&r->names, section->to), section->entry + 1, section->number);
        return;
    }
    on_spot(spot, s, reading);
    if (p->mark != JOB_NONE) {
        snprintf(out, LINE, "%s", spot);
        return;
    }
    uint32_t row = s->job->sight_row[p->sight];
    setup_name(setup, s->job, p->leg);
    snprintf(out, LINE, "%s%s in set-up %s (row %" PRIu32 ".%" PRIu32 ")", kinds[s->reading[reading].source], spot, setup,
        record_row_entry(r, row) + 1, record_row_number(r, row));
}

#define ROUND_MOST 4 /* points that a loop is named by */

/* "round TP1, SE1 batten and 2 more". */
static void
round_words(char out[LINE], const struct suspects *s, const struct suspect_loop *loop)
{
    uint32_t shown[ROUND_MOST];
    size_t n = 0, more = 0;
    char *p = stpcpy(out, "round");
    for (uint32_t i = loop->first; i < loop->first + loop->count; i++) {
        uint32_t spot = s->place[s->step[i].reading].spot;
        bool known = spot == JOB_NONE;
        for (size_t k = 0; k < n; k++)
            known |= shown[k] == spot;
        more += !known && n == ROUND_MOST;
        if (known || n == ROUND_MOST)
            continue;
        char words[SHEET_WORDS * 2];
        spot_words(words, s->job, spot, "");
        p = stpcpy(stpcpy(p, n > 0 ? ", " : " "), words);
        shown[n++] = spot;
    }
    if (more > 0)
        stpcpy(p, " and further");
}

/* "loop BM1 to BM1, 7 set-ups from 5.1", or "round TP1, SE1 batten, 2 set-ups". */
static void
loop_words(char out[LINE], const struct suspects *s, uint32_t loop)
{
    const struct suspects_loop *l = &s->of[loop];
    if (l->line != JOB_NONE) {
        put_line_name(out, s->job, &s->job->work.link[l->line]);
        return;
    }
    round_words(out, s, &s->loop[loop]);
    size_t n = strlen(out);
    if (l->setups > 0)
        snprintf(out + n, LINE - n, ", %" PRIu64 " set-up%s", l->setups, l->setups == 1 ? "" : "s");
}

/* ---- one suspect ---- */

static void
closes_to(char out[LINE], const struct suspects_fault *f, const struct suspect *x, const struct sheet_style *style)
{
    char left[SHEET_WORDS];
    sheet_misclosure_words(left, x->left, style);
    if (x->fixed < f->loops)
        snprintf(out, LINE, "%" PRIu32 " of the %zu loops %s%s %s, the other%s outside", x->fixed, f->loops,
            x->fixed == 1 ? "closes" : "close, the poorest", " to", left, f->loops - x->fixed == 1 ? " stays" : "s stay");
    else if (f->loops > 1)
        snprintf(out, LINE, f->loops == 2 ? "both loops close, the poorer to %s" : "all the loops close, the poorest to %s", left);
    else
        snprintf(out, LINE, "the loop closes to %s", left);
}

static void
step_words(char out[LINE], const struct suspects *s, const struct suspect *x, const struct sheet_style *style)
{
    char size[LENGTH_TEXT], setup[SHEET_WORDS], spot[SHEET_WORDS * 2], value[LENGTH_TEXT];
    const struct suspects_place *p = &s->place[x->reading];
    length_print(size, x->change < 0 ? -x->change : x->change, style->adjusted);
    on_spot(spot, s, x->reading);
    if (x->slip == SUSPECT_INSTRUMENT) {
        setup_name(setup, s->job, p->leg);
        snprintf(out, LINE, "Set-up %s, before %s was read: if the instrument %s by %s there", setup, spot,
            x->change > 0 ? "sank" : "rose", size);
    } else if (x->slip == SUSPECT_TURN) {
        setup_name(setup, s->job, p->leg);
        snprintf(out, LINE, "%s, before set-up %s: if it %s by %s between the FS and the BS", spot, setup,
            x->change < 0 ? "sank" : "rose", size);
    } else {
        length_print(value, s->reading[x->reading].value, style->elevation);
        snprintf(out, LINE, "Readings of %s and more in the run of entry %" PRIu32 " (%" PRIu32 " of them): if each is %s %s", value,
            s->job->r->run[s->job->leg[p->leg].run].entry + 1, x->affected, size, x->change < 0 ? "too great" : "too small");
    }
}

static void
value_words(char out[LINE], const struct suspects *s, const struct suspect *x, const struct sheet_style *style)
{
    char reading[LINE], was[LENGTH_TEXT], instead[LENGTH_TEXT], spot[SHEET_WORDS * 2];
    bool mark = s->reading[x->reading].source == SUSPECT_MARK;
    length booked = s->reading[x->reading].value;
    reading_words(reading, s, x->reading);
    length_print(was, booked, style->elevation);
    length_print(instead, x->instead, x->slip == SUSPECT_OTHER || x->slip == SUSPECT_MOVED ? style->adjusted : style->elevation);
    if (x->slip == SUSPECT_TURN_COLUMNS || x->slip == SUSPECT_SETUP_COLUMNS) {
        char other[LINE];
        reading_words(other, s, x->other);
        snprintf(out, LINE, "%.300s, booked %s, and %.300s, booked %s: if each stands in the other's column", reading, was, other,
            instead);
    } else if (x->slip == SUSPECT_POINT) {
        on_spot(spot, s, x->other);
        snprintf(out, LINE, "%.600s, booked %s: if the rod stood on %s", reading, was, spot);
    } else {
        snprintf(out, LINE, "%.600s, %s %s: if it %s %s", reading, mark ? "given" : "booked", was, mark ? "is" : "was", instead);
    }
}

static bool
is_step(const struct suspect *x)
{
    return x->slip == SUSPECT_INSTRUMENT || x->slip == SUSPECT_TURN || x->slip == SUSPECT_ROD;
}

static void
suspect_words(char out[LINE], const struct suspects *s, const struct suspect *x, const struct sheet_style *style)
{
    if (is_step(x))
        step_words(out, s, x, style);
    else
        value_words(out, s, x, style);
}

/* A turning point has a sight from either side. */
static bool
is_turning_point(const struct suspects *s, uint32_t reading)
{
    const struct suspect_reading *r = &s->reading[reading];
    bool ahead = r->source == SUSPECT_FS && reading + 1 < s->scene.readings && r[1].source == SUSPECT_BS;
    bool back = r->source == SUSPECT_BS && reading > 0 && r[-1].source == SUSPECT_FS;
    const struct suspect_reading *other = ahead ? &r[1] : &r[-1];
    return (ahead || back) && other->spot == r->spot && other->run == r->run;
}

static void
advice_words(char out[LINE], const struct suspects *s, const struct suspect *x)
{
    char spot[SHEET_WORDS * 2], setup[SHEET_WORDS];
    const struct suspects_place *p = &s->place[x->reading];
    on_spot(spot, s, x->reading);
    if (p->leg != JOB_NONE)
        setup_name(setup, s->job, p->leg);
    if (x->slip == SUSPECT_ROD)
        snprintf(out, LINE, "Hold a tape against the rod at each joint, drawn out as it was.");
    else if (x->slip == SUSPECT_INSTRUMENT || x->slip == SUSPECT_SETUP_COLUMNS)
        snprintf(out, LINE, "Shoot all of set-up %s again.", setup);
    else if (p->section != JOB_NONE)
        snprintf(out, LINE, "Level this section again.");
    else if (p->mark != JOB_NONE)
        snprintf(out, LINE, "Check %s from another mark.", spot);
    else if (is_turning_point(s, x->reading))
        snprintf(out, LINE, "Shoot %s again from both sides.", spot);
    else
        snprintf(out, LINE, "Shoot %s again from where set-up %s stood, and a point that is sure with it.", spot, setup);
}

static void
print_suspect(const struct suspects *s, const struct suspects_fault *f, size_t rank, const struct sheet_style *style, FILE *out)
{
    const struct suspect *x = &s->suspect[f->first + rank - 1];
    char words[LINE], to[LINE];
    suspect_words(words, s, x, style);
    closes_to(to, f, x, style);
    char line[LINE * 2 + SHEET_WORDS];
    snprintf(line, sizeof line, "%zu. %s (%s), %s.", rank, words, slip_words(s, x), to);
    say_line(line, out);
    advice_words(words, s, x);
    snprintf(line, sizeof line, "   %s", words);
    say_line(line, out);
}

/* ---- one fault ---- */

static void
print_outside(const struct suspects *s, uint32_t cluster, const struct sheet_style *style, FILE *out)
{
    char words[LINE], misclosure[SHEET_WORDS], limit[SHEET_WORDS];
    fputs("\nOutside its limit (misclosure = measured - known)\n", out);
    for (uint32_t l = 0; l < s->scene.loops; l++) {
        if (s->cluster[l] != cluster)
            continue;
        loop_words(words, s, l);
        sheet_misclosure_words(misclosure, s->loop[l].misclosure, style);
        sheet_limit_words(limit, s->loop[l].limit_nm, style);
        char line[LINE * 2];
        int n = snprintf(line, sizeof line, "%s: misclosure %s, ", words, misclosure);
        if (s->of[l].by_sigma)
            snprintf(line + n, sizeof line - (size_t)n, "the job allows nothing in particular; %.2f standard deviations are %s",
                SUSPECTS_SIGMAS, limit);
        else
            snprintf(line + n, sizeof line - (size_t)n, "allowed %s", limit);
        say_line(line, out);
    }
}

static void
print_suspects(const struct suspects *s, const struct suspects_fault *f, const struct sheet_style *style, FILE *out)
{
    size_t shown = f->count < SHOWN_MOST ? f->count : SHOWN_MOST;
    fputs("\nWhat most likely did it\n", out);
    if (f->count == 0) {
        say_line("no single slip brings every loop through its reading within its limit: there are two slips or more, or the limit is "
                 "too narrow for the readings", out);
        return;
    }
    say_line("the likeliest first, by weights that are our judgement of how often each slip is made, and as if there were one slip and no "
             "other", out);
    if (f->alike > 1)
        fprintf(out, "  the first %zu fit alike: the loops do not tell them apart\n", f->alike);
    for (size_t i = 0; i < shown; i++)
        print_suspect(s, f, i + 1, style, out);
    if (f->count > shown)
        fprintf(out, "  and %zu that are no likelier%s\n", f->count - shown, capture_words(out, "", "; --json lists them"));
}

static const struct table_column columns[] = { { "again", false, false }, { "from", false, false }, { "to", false, false },
    { "sight lengths", true, false }, { "of 100", true, true } };

static void
shot_row(const struct suspects *s, const struct suspects_shot *shot, const struct sheet_style *style, struct table *t)
{
    const struct job *job = s->job;
    char words[SHEET_WORDS * 2], text[LENGTH_TEXT];
    if (shot->leg == JOB_NONE) {
        table_cell(t, "a mark");
        table_cell(t, names_text(&job->r->names, job->r->mark[shot->mark].name));
        table_cell(t, NULL);
        table_cell(t, NULL);
    } else {
        const struct level_leg *leg = &job->leg[shot->leg];
        setup_name(words, job, shot->leg);
        table_cell(t, words);
        spot_words(words, job, leg->from, NO_FROM);
        table_cell(t, words);
        spot_words(words, job, leg->to, NO_TO);
        table_cell(t, words);
        length_print(text, shot->dist, sheet_distance(style));
        table_cell(t, shot->dist > 0 ? text : NULL);
    }
    snprintf(words, sizeof words, "%.0f", shot->share * 100);
    table_cell(t, words);
}

static int
print_shots(const struct suspects *s, const struct suspects_fault *f, const struct sheet_style *style, FILE *out)
{
    struct table t;
    if (f->shots == 0)
        return 0;
    table_open(&t, columns, sizeof columns / sizeof columns[0]);
    for (size_t i = 0; i < f->shots && i < SHOTS_MOST; i++)
        shot_row(s, &s->shot[f->first_shot + i], style, &t);
    fputs("\nShoot again: set-ups by how much of the suspicion lies on them\n", out);
    int rc = table_print(&t, out);
    if (f->shots > SHOTS_MOST)
        fprintf(out, "  and %zu more\n", f->shots - SHOTS_MOST);
    if (f->half_line == JOB_NONE)
        return rc;
    char from[SHEET_WORDS * 2], to[SHEET_WORDS * 2], setup[SHEET_WORDS];
    const struct level_link *link = &s->job->work.link[f->half_line];
    spot_words(from, s->job, link->from, NO_FROM);
    spot_words(to, s->job, s->job->leg[f->half_leg].to, NO_TO);
    setup_name(setup, s->job, f->half_leg);
    char line[LINE];
    snprintf(line, sizeof line, "It lies on many set-ups: level from %s to %s anew (through set-up %s), and go on in the half that does "
        "not agree.", from, to, setup);
    say_line(line, out);
    return rc;
}

static void
print_cleared(const struct suspects_fault *f, FILE *out)
{
    fputs("\nCleared\n", out);
    fprintf(out, "  of %zu readings on %s outside, %zu cannot have done it alone: loops that close go through them\n", f->readings,
        f->loops == 1 ? "the loop" : "the loops", f->cleared);
}

static void
print_rest(const struct suspects *s, FILE *out)
{
    size_t closing = 0;
    for (size_t l = 0; l < s->scene.loops; l++)
        closing += s->cluster[l] == LEVEL_NONE;
    fputs("\nThe rest\n", out);
    if (s->faults == 0)
        fputs("  nothing is outside its limit\n", out);
    fprintf(out, "  %zu %s within %s; %zu %s on loops that all close\n", closing, closing == 1 ? "loop is" : "loops are",
        closing == 1 ? "its limit" : "their limits", s->closes, s->closes == 1 ? "reading is" : "readings are");
    fprintf(out, "  %zu %s on no loop: nothing would show a slip there\n", s->unchecked, s->unchecked == 1 ? "reading is" : "readings are");
}

int
sheet_suspects(const struct suspects *s, FILE *out)
{
    struct sheet_style style = sheet_style_of(s->job->r);
    int rc = 0;
    sheet_title(s->job, "Suspects", out);
    for (size_t i = 0; rc == 0 && i < s->faults; i++) {
        print_outside(s, s->fault[i].first_loop, &style, out);
        print_suspects(s, &s->fault[i], &style, out);
        rc = print_shots(s, &s->fault[i], &style, out);
        print_cleared(&s->fault[i], out);
    }
    if (s->faults == 0 && s->job->outside)
        fputs("\nA line is outside its limit, but leans on points of other lines, and all loops close: no reading can be\nnamed.\n", out);
    print_rest(s, out);
    return rc;
}

/* ---- JSON ---- */

static void
put_place(struct writer *w, const struct suspects *s, uint32_t reading)
{
    static const char *const kinds[] = { "bs", "is", "fs", "section", "mark" }; /* enum suspect_source */
    const struct suspects_place *p = &s->place[reading];
    const struct record *r = s->job->r;
    bool sight = p->sight != JOB_NONE, section = p->section != JOB_NONE;
    char setup[SHEET_WORDS];
    uint32_t row = sight ? s->job->sight_row[p->sight] : 0;
    if (sight)
        setup_name(setup, s->job, p->leg);
    text(w, KEY("kind"), kinds[s->reading[reading].source]);
    count(w, KEY("entry"), sight || section, sight ? (uint64_t)record_row_entry(r, row) + 1 : section ? (uint64_t)r->section[p->section].entry + 1 : 0);
    count(w, KEY("row"), sight || section, sight ? record_row_number(r, row) : section ? r->section[p->section].number : 0);
    text(w, KEY("setup"), sight ? setup : NULL);
    text(w, KEY("at"), section ? NULL : spot_name(s->job, p->spot));
    text(w, KEY("on"), section ? NULL : spot_on(s->job, p->spot));
    text(w, KEY("from"), section ? names_text(&r->names, r->section[p->section].from) : NULL);
    text(w, KEY("to"), section ? names_text(&r->names, r->section[p->section].to) : NULL);
}

static void
put_suspect(struct writer *w, const struct suspects *s, size_t i)
{
    const struct suspect *x = &s->suspect[i];
    char words[LINE];
    open_object(w);
    text(w, KEY("slip"), suspect_table[x->slip].word);
    text(w, KEY("words"), slip_words(s, x));
    put_place(w, s, x->reading);
    number(w, KEY("booked"), true, s->reading[x->reading].value);
    number(w, KEY("instead"), !is_step(x), x->instead);
    number(w, KEY("change"), true, x->change);
    count(w, KEY("affected"), true, x->affected);
    number(w, KEY("closes_to"), true, x->left);
    count(w, KEY("fixed"), true, x->fixed);
    writer_real(w, KEY("share"), true, s->share[i]);
    writer_real(w, KEY("remains"), true, x->remains);
    advice_words(words, s, x);
    text(w, KEY("advice"), words);
    if (x->other != LEVEL_NONE) {
        open_member(w, KEY("other"));
        put_place(w, s, x->other);
        number(w, KEY("booked"), true, s->reading[x->other].value);
        close_object(w);
    } else {
        text(w, KEY("other"), NULL);
    }
    close_object(w);
}

static void
put_loop(struct writer *w, const struct suspects *s, uint32_t l)
{
    char words[LINE];
    loop_words(words, s, l);
    open_object(w);
    text(w, KEY("loop"), words);
    truth(w, KEY("line"), true, s->of[l].line != JOB_NONE);
    count(w, KEY("setups"), s->of[l].setups > 0, s->of[l].setups);
    number(w, KEY("misclosure"), true, s->loop[l].misclosure);
    writer_real(w, KEY("limit"), true, s->loop[l].limit_nm / w->unit_nm);
    truth(w, KEY("by_sigma"), true, s->of[l].by_sigma);
    close_object(w);
}

static void
put_shot(struct writer *w, const struct suspects *s, const struct suspects_shot *shot)
{
    char setup[SHEET_WORDS];
    bool leg = shot->leg != JOB_NONE;
    if (leg)
        setup_name(setup, s->job, shot->leg);
    open_object(w);
    const struct level_leg *l = leg ? &s->job->leg[shot->leg] : NULL;
    text(w, KEY("setup"), leg && l->count > 0 ? setup : NULL);
    text(w, KEY("from"), leg && l->from != LEVEL_NONE ? spot_name(s->job, l->from) : NULL);
    text(w, KEY("to"), leg && l->to != LEVEL_NONE ? spot_name(s->job, l->to) : NULL);
    text(w, KEY("mark"), leg ? NULL : names_text(&s->job->r->names, s->job->r->mark[shot->mark].name));
    number(w, KEY("dist"), shot->dist > 0, shot->dist);
    writer_real(w, KEY("share"), true, shot->share);
    close_object(w);
}

static void
put_fault(struct writer *w, const struct suspects *s, size_t which)
{
    const struct suspects_fault *f = &s->fault[which];
    char setup[SHEET_WORDS];
    open_object(w);
    count(w, KEY("fault"), true, which + 1);
    open_list(w, KEY("loops"));
    for (uint32_t l = 0; l < s->scene.loops; l++)
        if (s->cluster[l] == f->first_loop)
            put_loop(w, s, l);
    close_list(w);
    count(w, KEY("found"), true, f->count);
    count(w, KEY("alike"), true, f->alike);
    open_list(w, KEY("suspects"));
    for (size_t i = 0; i < f->count && i < LIST_MOST; i++)
        put_suspect(w, s, f->first + i);
    close_list(w);
    open_list(w, KEY("shoot_again"));
    for (size_t i = 0; i < f->shots; i++)
        put_shot(w, s, &s->shot[f->first_shot + i]);
    close_list(w);
    if (f->half_line != JOB_NONE)
        setup_name(setup, s->job, f->half_leg);
    text(w, KEY("half"), f->half_line != JOB_NONE ? setup : NULL);
    count(w, KEY("readings"), true, f->readings);
    count(w, KEY("cleared"), true, f->cleared);
    close_object(w);
}

int
sheet_suspects_data(const struct suspects *s, const struct sheet_table *table, FILE *out)
{
    struct writer w;
    const struct job *job = s->job;
    writer_open(&w, table, out, job->r->job.unit);
    writer_begin(&w, "rodbook/suspects/1", job->r);
    truth(&w, KEY("outside"), true, s->faults > 0 || job->outside);
    open_list(&w, KEY("faults"));
    for (size_t i = 0; i < s->faults; i++)
        put_fault(&w, s, i);
    close_list(&w);
    count(&w, KEY("loops"), true, s->scene.loops);
    count(&w, KEY("closing_readings"), true, s->closes);
    count(&w, KEY("unchecked_readings"), true, s->unchecked);
    put(&w, "}\n");
    return writer_close(&w);
}
