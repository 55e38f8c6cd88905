#include "parts.h"

#include "capture.h"
#include "fold.h"

#include "rodbook/text.h"

#include <inttypes.h>
#include <math.h>
#include <string.h>

/* The end of a text that had no room: left off between two characters, and that is seen. */
static void
cut_text(char *text, size_t room)
{
    static const char more[] = " ...";
    size_t end = room - sizeof more;
    while (end > 0 && ((unsigned char)text[end] & 0xc0) == 0x80)
        end--;
    memcpy(text + end, more, sizeof more);
}

void
remark_add(struct remark *r, const char *format, ...)
{
    va_list list;
    if (r->used >= sizeof r->text)
        return; /* cut already */
    size_t room = sizeof r->text - r->used;
    size_t n = r->used > 0 ? (size_t)snprintf(r->text + r->used, room, "; ") : 0;
    va_start(list, format);
    int more = n < room ? vsnprintf(r->text + r->used + n, room - n, format, list) : 0;
    va_end(list);
    r->used += n + (more > 0 ? (size_t)more : 0);
    if (r->used >= sizeof r->text)
        cut_text(r->text, sizeof r->text);
}

void
say_word(struct lines *l, const char *word, size_t n)
{
    const char *first = l->first ? l->first : "  ", *other = l->other ? l->other : "    ";
    size_t width = fold_width(word, n);
    if (l->column > 0 && l->column + 1 + width > TABLE_PAGE && !capture_is_of(l->out)) {
        fprintf(l->out, "\n%s", other);
        l->column = strlen(other);
    } else {
        const char *before = l->begun ? " " : first;
        fputs(before, l->out);
        l->column += strlen(before);
    }
    l->begun = true;
    fwrite(word, 1, n, l->out);
    l->column += width;
}

void
say(struct lines *l, const char *words)
{
    for (size_t n; *words; words += n + (words[n] == ' ')) {
        n = fold_piece(words, strlen(words));
        say_word(l, words, n);
    }
}

void
end_sentence(struct lines *l)
{
    fputc('\n', l->out);
    l->column = 0;
    l->begun = false;
}

void
say_line(const char *words, FILE *out)
{
    struct lines l = { .out = out };
    say(&l, words);
    end_sentence(&l);
}

void
tell_list(FILE *out, const char *first, const char *other, const char *format, va_list list)
{
    char text[SHEET_SENTENCE];
    struct lines l = { .out = out, .first = first, .other = other };
    if (vsnprintf(text, sizeof text, format, list) >= (int)sizeof text)
        cut_text(text, sizeof text);
    say(&l, text);
    end_sentence(&l);
}

void
tell_line(FILE *out, const char *first, const char *other, const char *format, ...)
{
    va_list list;
    va_start(list, format);
    tell_list(out, first, other, format, list);
    va_end(list);
}

char *
put_count(char *p, uint64_t v)
{
    char back[20];
    size_t n = 0;
    do
        back[n++] = (char)('0' + v % 10);
    while ((v /= 10) > 0);
    while (n > 0)
        *p++ = back[--n];
    *p = '\0';
    return p;
}

void
setup_name(char out[SHEET_WORDS], const struct job *job, uint32_t leg)
{
    uint32_t run = job->leg[leg].run;
    char *p = put_count(out, (uint64_t)job->r->run[run].entry + 1);
    *p++ = '.';
    put_count(p, leg - job->run_leg[run] + 1);
}

void
spot_words(char out[SHEET_WORDS * 2], const struct job *job, uint32_t spot, const char *none)
{
    char *p = stpcpy(out, spot == LEVEL_NONE ? none : spot_name(job, spot)); /* names have 80 bytes at most */
    if (spot == LEVEL_NONE || job->spot[spot].on == RECORD_ON_MARK)
        return;
    *p++ = ' ';
    stpcpy(p, spot_on(job, spot));
}

void
signed_length(char out[LENGTH_TEXT + 1], length value, struct length_style style)
{
    length_print(out, value, style);
    if (value <= 0 || !strpbrk(out, "123456789"))
        return;
    memmove(out + 1, out, strlen(out) + 1);
    out[0] = '+';
}

/* What the results were computed from: how much of it stands above a digest, and which. */
static void
record_line(const struct record *r, FILE *out)
{
    char digest[DIGEST_SHORT_TEXT];
    const struct scan_chain *c = &r->chain;
    if (c->digests == 0) {
        fputs("not sealed", out);
        return;
    }
    digest_short(digest, c->digest);
    fprintf(out, "digest %" PRIu32 ": %s", c->last, digest);
    if (c->last + 1 == r->entries)
        fprintf(out, "; entry %zu not sealed", r->entries);
    else if (c->last < r->entries)
        fprintf(out, "; entries %" PRIu32 " to %zu not sealed", c->last + 1, r->entries);
}

void
sheet_record_seals(const struct record *r, const char *more, FILE *out)
{
    fprintf(out, "%zu %s, ", r->entries, r->entries == 1 ? "entry" : "entries");
    record_line(r, out);
    fputc('\n', out);
    if (r->chain.broken > 0)
        fprintf(out, "ALTERED: the digest of entry %" PRIu32 " does not fit what stands above it; %s\n", r->chain.first_broken, more);
    if (r->chain.bad_seals > 0)
        fprintf(out, "ALTERED: a signature does not fit what stands above it; %s\n", more);
}

void
sheet_title(const struct job *job, const char *what, FILE *out)
{
    sheet_record_title(job->r, what, out);
}

bool
sheet_warns(const char *text)
{
    static const char *const words[] = { "OUTSIDE", "UNCHECKED", "ALTERED", "nothing closes", "NOT COVERED", "WRONG WAY", "DO NOT FIT" };
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++)
        if (strstr(text, words[i]))
            return true;
    return false;
}

void
sheet_record_title(const struct record *r, const char *what, FILE *out)
{
    fprintf(out, "%s", names_text(&r->texts, r->job.name));
    if (r->job.place != RECORD_NONE)
        fprintf(out, ", %s", names_text(&r->texts, r->job.place));
    fprintf(out, "\n%s; lengths in %s; rounded half away from zero\n", what,
        r->job.unit == LENGTH_BARE_FT ? "feet" : r->job.unit == LENGTH_BARE_M ? "metres" : "feet and inches");
    sheet_record_seals(r, "rodbook audit says more", out);
}

/* Inches as a rod and a tape have them, where 64 parts show them whole; else false: a fraction would be another length, and
 * may be more than what is allowed. */
static bool
fraction_words(char out[SHEET_WORDS], double nm, const struct sheet_style *style)
{
    double parts = nm * 64 / (double)LENGTH_IN, whole = nearbyint(parts);
    struct sheet_style fine = *style;
    if (!(fabs(parts - whole) < 1e-6 && fabs(parts) < 1e9))
        return false;
    fine.move.parts = 64;
    sheet_size_words(whole < 0 ? stpcpy(out, "-") : out, (length)whole * (LENGTH_IN / 64), &fine);
    return true;
}

void
sheet_decimal_words(char out[SHEET_WORDS], double nm, const struct sheet_style *style)
{
    switch (style->elevation.form) {
    case LENGTH_AS_FT:
        snprintf(out, SHEET_WORDS, "%.4f ft", nm / (double)LENGTH_FT);
        break;
    case LENGTH_AS_FT_IN:
        snprintf(out, SHEET_WORDS, "%.3f in", nm / (double)LENGTH_IN);
        break;
    default:
        snprintf(out, SHEET_WORDS, "%.2f mm", nm / (double)LENGTH_MM);
        break;
    }
}

void
sheet_limit_words(char out[SHEET_WORDS], double nm, const struct sheet_style *style)
{
    if (style->elevation.form != LENGTH_AS_FT_IN || !fraction_words(out, nm, style))
        sheet_decimal_words(out, nm, style);
}

/* A misclosure to one figure more than elevations, in the limit's unit. */
void
sheet_misclosure_words(char out[SHEET_WORDS], length nm, const struct sheet_style *style)
{
    char text[LENGTH_TEXT + 1];
    struct length_style as = { LENGTH_AS_MM, 2, 0 };
    const char *unit = "mm";
    if (style->elevation.form == LENGTH_AS_FT_IN && fraction_words(nm > 0 ? stpcpy(out, "+") : out, (double)nm, style))
        return;
    if (style->elevation.form == LENGTH_AS_FT) {
        as = (struct length_style){ LENGTH_AS_FT, 4, 0 };
        unit = "ft";
    } else if (style->elevation.form == LENGTH_AS_FT_IN) {
        as = (struct length_style){ LENGTH_AS_FT, 3, 0 };
        unit = "in";
        nm *= 12; /* decimal inches are twelfths of a foot, shown as feet */
    }
    signed_length(text, nm, as);
    stpcpy(stpcpy(stpcpy(out, text), " "), unit);
}

char *
put_line_name(char *p, const struct job *job, const struct level_link *link)
{
    char words[SHEET_WORDS * 2];
    bool sections = job->leg[job->work.order[link->first]].count == 0;
    uint64_t n = sections ? link->count : link->setups;
    p = stpcpy(p, sheet_link_word(link->kind));
    spot_words(words, job, link->from, NO_FROM);
    p = stpcpy(stpcpy(p, " "), words);
    spot_words(words, job, link->to, NO_TO);
    p = stpcpy(stpcpy(p, " to "), words);
    if (n == 0)
        return p;
    p = stpcpy(put_count(stpcpy(p, ", "), n), sections ? " section" : " set-up");
    setup_name(words, job, job->work.order[link->first]);
    return stpcpy(stpcpy(p, n == 1 ? " from " : "s from "), words);
}

static void
closure_line(const struct job *job, const struct level_link *link, const struct sheet_style *style, FILE *out)
{
    char line[SHEET_WORDS * 8], words[SHEET_WORDS]; /* two names of 80 bytes and some words */
    char *p = put_line_name(line, job, link);
    if (link->kind == LEVEL_SPUR) {
        stpcpy(p, link->quality <= LEVEL_FORCED ? ": closed by other lines" : ": unchecked, nothing closes it");
        say_line(line, out);
        return;
    }
    sheet_misclosure_words(words, link->misclosure, style);
    p = stpcpy(stpcpy(p, ": misclosure "), words);
    if (link->within == LEVEL_NOT_JUDGED) {
        p = stpcpy(p, ", not judged: the job allows nothing in particular");
    } else {
        sheet_limit_words(words, link->allowed_nm, style);
        p = stpcpy(stpcpy(stpcpy(stpcpy(p, ", allowed "), words), ": "), sheet_within_word(link->within));
    }
    if (link->within == LEVEL_BEYOND)
        stpcpy(p, link->spread ? "; spread all the same, as asked" : "; NOT spread: find the slip and shoot it again");
    say_line(line, out);
}

const char *
sheet_spread_words(enum record_spread spread)
{
    static const char *const words[] = { "set-ups", "distance", "least squares" };
    return words[spread];
}

void
sheet_closures(const struct job *job, FILE *out)
{
    struct sheet_style style = sheet_style_of(job->r);
    fprintf(out, "\nClosure (misclosure = measured - known)%s\n",
        job->spread == RECORD_SPREAD_LEAST_SQUARES ? "; spread by least squares" : "");
    for (size_t i = 0; i < job->work.links; i++)
        closure_line(job, &job->work.link[i], &style, out);
    if (job->work.links == 0)
        fputs("  no levels are booked yet\n", out);
}

void
apart_remark(struct remark *remark, uint32_t readings, length apart, const struct sheet_style *style)
{
    char text[LENGTH_TEXT];
    if (readings < 2)
        return;
    length_print(text, apart, style->elevation);
    if (strpbrk(text, "123456789"))
        remark_add(remark, "read %" PRIu32 " times, adjusted %s apart", readings, text);
    else
        remark_add(remark, "read %" PRIu32 " times, adjusted they agree", readings);
}

/* A mean may lie between two steps of the rod: rounded to one, it would not come to what is adjusted with its correction. */
static bool
is_between_steps(const struct job *job, const struct level_spot *l, const struct sheet_style *style)
{
    char text[LENGTH_TEXT];
    length shown;
    size_t n = length_print(text, l->raw, style->elevation);
    return l->raws > 1 && length_read(text, n, job->r->job.unit, &shown) == LENGTH_OK && shown != l->raw;
}

static void
point_remarks(const struct job *job, uint32_t i, const struct sheet_style *style, struct remark *remark)
{
    const struct level_spot *l = &job->level_spot[i];
    if (l->state == LEVEL_MARK && job->spread == RECORD_SPREAD_LEAST_SQUARES && job->r->mark[job->mark_of[job->spot[i].at]].sigma > 0)
        remark_add(remark, "mark, given with a standard deviation");
    else if (l->state == LEVEL_MARK)
        remark_add(remark, l->raw == l->value ? "mark, given" : "mark, given; elevation as first carried to it");
    if (job->spot[i].position > 1)
        remark_add(remark, "position %" PRIu32 ", after it was moved", job->spot[i].position);
    if (job->spot_of[(size_t)job->spot[i].at * RECORD_ON_COUNT + job->spot[i].on] != i)
        remark_add(remark, "before it was moved");
    if (l->state == LEVEL_UNKNOWN)
        return;
    if (l->quality == LEVEL_OUTSIDE)
        remark_add(remark, "NOT ADJUSTED: on a line outside its limit");
    if (l->quality == LEVEL_UNCHECKED)
        remark_add(remark, "unchecked");
    if (l->quality == LEVEL_FORCED)
        remark_add(remark, "on a line OUTSIDE its limit, spread as asked");
    apart_remark(remark, l->readings, l->high - l->low, style);
}

int
sheet_points(const struct job *job, FILE *out)
{
    static const struct table_column columns[] = { { "point", false, false }, { "on", false, false }, { "elevation", true, false },
        { "correction", true, false }, { "adjusted", true, false }, { "remarks", false, false } };
    struct sheet_style style = sheet_style_of(job->r);
    struct table t;
    char text[LENGTH_TEXT + 1];
    table_open(&t, columns, sizeof columns / sizeof columns[0]);
    for (uint32_t i = 0; i < job->spots; i++) {
        const struct level_spot *l = &job->level_spot[i];
        struct remark remark = { 0 };
        if (!job->spot[i].shown || l->state == LEVEL_UNKNOWN)
            continue;
        bool adjusted = l->quality != LEVEL_OUTSIDE;
        table_cell(&t, spot_name(job, i));
        table_cell(&t, spot_on(job, i));
        table_length(&t, l->raw, is_between_steps(job, l, &style) ? style.adjusted : style.elevation);
        signed_length(text, l->value - l->raw, style.adjusted);
        table_cell(&t, adjusted ? text : NULL);
        length_print(text, l->value, style.adjusted);
        table_cell(&t, adjusted ? text : NULL);
        point_remarks(job, i, &style, &remark);
        table_cell(&t, remark.text);
    }
    fputs("\nElevations\n", out);
    return table_print(&t, out);
}
