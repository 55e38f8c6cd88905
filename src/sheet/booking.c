/* booking.c - what a reading means, said while the rod is still on the point */
#include "parts.h"

#include <inttypes.h>
#include <string.h>

static const char indent[] = "      ";

static void
put_point(FILE *out, const struct booking *b, uint32_t at, enum record_on on)
{
    fputs(names_text(&b->r->names, at), out);
    if (on != RECORD_ON_MARK)
        fprintf(out, " %s", record_on_word(on));
}

static void
put_wires(FILE *out, const char *word, const struct write_sight *s, const struct sheet_style *style)
{
    char text[LENGTH_TEXT];
    if (s->wires == 0)
        return;
    length_print(text, s->value, style->elevation);
    fprintf(out, "  %s %s", word, s->wires == 1 ? s->text[0] : text);
}

/* Readings as they were said; a value that is not known yet is told as such. */
static void
sights_line(const struct booking *b, const struct write_row *row, uint32_t entry, const struct booking_answer *a,
    const struct sheet_style *style, FILE *out)
{
    char text[LENGTH_TEXT];
    fprintf(out, "%4" PRIu32 "  %s", entry, row->at);
    if (row->on != RECORD_ON_MARK)
        fprintf(out, " %s", record_on_word(row->on));
    put_wires(out, "IS", &row->is, style);
    put_wires(out, "FS", &row->fs, style);
    if (a->has_ahead) {
        length_print(text, a->elevation, style->elevation);
        fprintf(out, "  %s %s", a->ahead_known ? "elevation" : "above the first point", text);
    }
    put_wires(out, "BS", &row->bs, style);
    if (a->has_bs) {
        length_print(text, a->hi, style->elevation);
        fprintf(out, "  %s %s, set-up %" PRIu32 ".%" PRIu32, a->known ? "HI" : "HI above the first point", text, b->now.run_entry,
            a->setup);
    }
}

static void
moves_line(const struct booking *b, const struct booking_answer *a, const struct sheet_style *style, FILE *out)
{
    for (uint32_t i = 0; i < a->moves; i++) {
        const struct booking_move *m = &a->move[i];
        const struct record_grade *g = b->job->grade[m->grade].from;
        char words[SHEET_WORDS], rod[LENGTH_TEXT];
        sheet_move_words(words, m->move.move, style);
        length_print(rod, m->grade_rod, style->elevation);
        fprintf(out, "%s%s: %s", i == 0 ? "  " : "; ", names_text(&b->r->names, g->name), m->move.leave ? "leave" : words);
        if (m->grade_rod >= 0)
            fprintf(out, ", grade rod %s", rod);
    }
}

/* sum BS 4.62 - sum FS 3.14 = +1.48, and the other two routes. */
static void
check_line(const struct booking_answer *a, const struct sheet_style *style, FILE *out)
{
    const struct level_check *c = &a->sums;
    char bs[LENGTH_TEXT], fs[LENGTH_TEXT], sights[LENGTH_TEXT + 1], steps[LENGTH_TEXT + 1], ends[LENGTH_TEXT + 1];
    if (!c->started || c->overflow)
        return;
    length_print(bs, c->sum_bs, style->elevation);
    length_print(fs, c->sum_fs, style->elevation);
    signed_length(sights, c->sum_bs - c->sum_fs, style->elevation);
    signed_length(steps, c->sum_rise - c->sum_fall, style->elevation);
    signed_length(ends, c->last - c->first, style->elevation);
    fprintf(out, "%scheck: BS %s - FS %s = %s; rises - falls %s; last - first %s%s\n", indent, bs, fs, sights, steps, ends,
        a->agrees ? "" : ": THEY DO NOT AGREE");
}

/* ---- questions ---- */

static void
put_round(FILE *out, const struct booking *b, length round)
{
    length whole = length_whole(b->r->job.unit);
    bool metric = b->r->job.unit == LENGTH_BARE_M;
    if (round == 0)
        return;
    if (round % whole == 0)
        fprintf(out, ", just about %" PRId64 " %s: look at the %s figure", round / whole, metric ? "m" : "ft", metric ? "metre" : "foot");
    else if (b->r->job.unit == LENGTH_BARE_FT_IN)
        fprintf(out, ", just about %" PRId64 " in: look at the inches", round / LENGTH_IN);
    else
        fprintf(out, ", just about 0.%" PRId64 " %s: look at the tenths", round / (whole / 10), metric ? "m" : "ft");
}

static void
question_line(const struct booking *b, const struct write_row *row, const struct booking_question *q,
    const struct sheet_style *style, FILE *out)
{
    static const char *const sights[] = { "BS", "IS", "FS" }; /* enum level_kind */
    char size[LENGTH_TEXT];
    length_print(size, q->size < 0 ? -q->size : q->size,
        q->ask == BOOKING_NOT_BALANCED ? sheet_distance(style) : style->elevation);
    fprintf(out, "%s? ", indent);
    switch (q->ask) {
    case BOOKING_DIFFERS:
        fprintf(out, "%s lies %s %s than when it was read before", row->at, size, q->size < 0 ? "lower" : "higher");
        put_round(out, b, q->round);
        fputs(q->round ? "" : "; if it was moved, undo, and book it with moved", out);
        break;
    case BOOKING_OFF_MARK:
        fprintf(out, "the mark %s reads %s %s than it is given", row->at, size, q->size < 0 ? "lower" : "higher");
        put_round(out, b, q->round);
        break;
    case BOOKING_TOO_FINE:
        fprintf(out, "the %s is read finer than the rod's least division", sights[q->sight]);
        break;
    case BOOKING_ROUND:
        fprintf(out, "%s reads %s %s than its neighbours", row->at, size, q->size < 0 ? "less" : "more");
        put_round(out, b, q->round);
        break;
    case BOOKING_NOT_BALANCED:
        fprintf(out, "the backsight is %s %s than the foresight; set up midway, or the level's error stays in",
            size, q->size < 0 ? "shorter" : "longer");
        break;
    case BOOKING_HALF_INTERVALS:
        fprintf(out, "the half-intervals of the three wires differ by %s; read them again", size);
        break;
    case BOOKING_NO_ELEVATION:
        fprintf(out, "%s has no known elevation yet; tie the run to a mark before it ends", row->at);
        break;
    }
    fputc('\n', out);
}

/* ---- closing ---- */

static void
closure_lines(const struct booking *b, const struct booking_closure *c, const struct sheet_style *style, const char *file, FILE *out)
{
    char words[SHEET_WORDS];
    bool loop = c->from_at == c->to_at && c->from_on == c->to_on;
    fprintf(out, "%s%s ", indent, c->inner ? "inner loop" : loop ? "loop" : "link");
    if (!c->judged_line) {
        fputs("end: ", out);
        put_point(out, b, c->to_at, c->to_on);
        fputs(" is known, and the line began on nothing known: rodbook close judges the whole\n", out);
        return;
    }
    put_point(out, b, c->from_at, c->from_on);
    fputs(" to ", out);
    put_point(out, b, c->to_at, c->to_on);
    sheet_misclosure_words(words, c->misclosure, style);
    fprintf(out, ", %" PRIu64 " set-up%s: misclosure %s", c->setups, c->setups == 1 ? "" : "s", words);
    if (c->within == LEVEL_NOT_JUDGED) {
        fputs(", not judged\n", out);
        return;
    }
    sheet_limit_words(words, c->allowed_nm, style);
    fprintf(out, ", allowed %s: %s", words, sheet_within_word(c->within));
    put_round(out, b, c->round);
    fputc('\n', out);
    if (c->within == LEVEL_WITHIN && c->inner)
        fprintf(out, "%sthe line itself goes on\n", indent);
    else if (c->within == LEVEL_WITHIN)
        fprintf(out, "%sCLOSED. rodbook stakes %s has the adjusted moves\n", indent, file);
    else
        fprintf(out, "%sDO NOT MOVE A MARK BY THIS. Read the last point again; then the turning points, from here back\n", indent);
}

static void
stands_for_line(const struct booking *b, const struct booking_answer *a, FILE *out)
{
    const uint32_t *ahead = a->stands_for[0], *bs = a->stands_for[1];
    if (a->went_on)
        fprintf(out, "%sin the place of the struck foresight %" PRIu32 ".%" PRIu32 ": set-up %" PRIu32 ".%" PRIu32 " goes on\n", indent,
            ahead[0], ahead[1], b->now.run_entry, a->setup);
    else if (ahead[0] > 0)
        fprintf(out, "%sin the place of the struck row %" PRIu32 ".%" PRIu32 "\n", indent, ahead[0], ahead[1]);
    else if (bs[0] > 0)
        fprintf(out, "%sin the place of the struck row %" PRIu32 ".%" PRIu32 "\n", indent, bs[0], bs[1]);
}

void
sheet_booking_answer(const struct booking *b, const struct write_row *row, uint32_t entry, const struct booking_answer *a,
    const char *file, FILE *out)
{
    struct sheet_style style = sheet_style_of(b->r);
    sights_line(b, row, entry, a, &style, out);
    moves_line(b, a, &style, out);
    fputc('\n', out);
    stands_for_line(b, a, out);
    for (uint32_t i = 0; i < a->asks; i++)
        question_line(b, row, &a->ask[i], &style, out);
    check_line(a, &style, out);
    if (a->closure.closes)
        closure_lines(b, &a->closure, &style, file, out);
}

/* ---- standing ---- */

void
sheet_booking_stand(const struct booking *b, FILE *out)
{
    const struct booking_state *st = &b->now;
    const struct booking_wait *waits = booking_waits(b);
    struct sheet_style style = sheet_style_of(b->r);
    char hi[LENGTH_TEXT];
    length_print(hi, st->hi, style.elevation);
    if (st->run_entry == 0)
        fputs("no run is open; a backsight on a known point begins one", out);
    else if (waits)
        fprintf(out, "run of entry %" PRIu32 ": row %" PRIu32 ".%" PRIu32 " is struck, and waits to be booked again", st->run_entry,
            waits->entry, waits->row);
    else if (st->open && st->known)
        fprintf(out, "set-up %" PRIu32 ".%" PRIu32 " is open, HI %s", st->run_entry, st->setup, hi);
    else if (st->open)
        fprintf(out, "set-up %" PRIu32 ".%" PRIu32 " is open; its elevation is not known yet", st->run_entry, st->setup);
    else if (st->turned) {
        fprintf(out, "run of entry %" PRIu32 " stands on ", st->run_entry);
        put_point(out, b, st->turn_at, st->turn_on);
        fputs(st->ended ? ", which is known: it is closed" : "; its backsight comes next", out);
    } else
        fprintf(out, "run of entry %" PRIu32 " has no reading that stands", st->run_entry);
    fputc('\n', out);
}

void
sheet_booking_prompt(const struct booking *b, char out[SHEET_WORDS])
{
    const struct booking_state *st = &b->now;
    struct sheet_style style = sheet_style_of(b->r);
    char hi[LENGTH_TEXT];
    if (st->open && st->known) {
        length_print(hi, st->hi, style.elevation);
        snprintf(out, SHEET_WORDS, "HI %s > ", hi);
    } else if (st->turned && !st->ended && st->run_entry > 0 && strlen(names_text(&b->r->names, st->turn_at)) < 24) {
        snprintf(out, SHEET_WORDS, "on %s > ", names_text(&b->r->names, st->turn_at));
    } else {
        stpcpy(out, "> ");
    }
}
