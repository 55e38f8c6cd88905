/* format.c - lengths and verdicts as a crew says them */
#include "rodbook/sheet.h"

#include <string.h>

/* Decimals that show a length whole, 1 to `most`. */
static int
decimals_of(length least, length unit, int most)
{
    int places = 1;
    for (length step = unit / 10; places < most && least % step != 0; step /= 10)
        places++;
    return places;
}

/* Parts of an inch that show a length whole: 8 to 64. */
static int
parts_of(length least)
{
    int parts = 8;
    while (parts < 64 && least % (LENGTH_IN / parts) != 0)
        parts *= 2;
    return parts;
}

/* A spread divides what the rod shows whole: adjusted figures go one further. */
static struct length_style
one_further(struct length_style style)
{
    if (style.form == LENGTH_AS_FT_IN)
        style.parts = style.parts < 64 ? 2 * style.parts : 64;
    else
        style.places++;
    return style;
}

/* Three wires are read to the least division and meaned to one figure more (three-wire booking; tests/handbook/l18.yaml). */
static struct length_style
elevation_style(const struct record *r)
{
    const struct record_job *job = &r->job;
    int more = r->three_wire ? 1 : 0;
    switch (job->unit) {
    case LENGTH_BARE_FT:
        return (struct length_style){ LENGTH_AS_FT, decimals_of(job->least, LENGTH_FT, 4) + more, 0 };
    case LENGTH_BARE_FT_IN:
        return (struct length_style){ LENGTH_AS_FT_IN, 0, parts_of(job->least) };
    case LENGTH_BARE_M:
        break;
    }
    return (struct length_style){ LENGTH_AS_M, decimals_of(job->least, LENGTH_M, 5) + more, 0 };
}

/* A hundredth of a foot is about 1/8 in; finer rods are laid out to 1/16. */
static struct length_style
move_style(const struct record_job *job)
{
    if (job->unit == LENGTH_BARE_M)
        return (struct length_style){ LENGTH_AS_MM, job->least < LENGTH_MM ? 1 : 0, 0 };
    if (job->unit == LENGTH_BARE_FT_IN)
        return (struct length_style){ LENGTH_AS_IN, 0, parts_of(job->least) };
    return (struct length_style){ LENGTH_AS_IN, 0, job->least * 100 >= LENGTH_FT ? 8 : 16 };
}

struct sheet_style
sheet_style_of(const struct record *r)
{
    struct length_style elevation = elevation_style(r);
    return (struct sheet_style){ elevation, r->three_wire ? elevation : one_further(elevation), move_style(&r->job) };
}

static const char *
smallest_words(const struct sheet_style *style)
{
    if (style->move.form == LENGTH_AS_MM)
        return style->move.places ? "less than 0.1 mm" : "less than 1 mm";
    switch (style->move.parts) {
    case 8:
        return "less than 1/8 in";
    case 16:
        return "less than 1/16 in";
    case 32:
        return "less than 1/32 in";
    default:
        return "less than 1/64 in";
    }
}

/* Feet and inches only once a foot is full: 4' 7-3/8" is read off a rod, 4 ft 7-3/8 in off a tape. */
static void
inches_words(char *out, length magnitude, const struct sheet_style *style)
{
    char text[LENGTH_TEXT];
    length_print(text, magnitude, (struct length_style){ LENGTH_AS_FT_IN, 0, style->move.parts });
    char *mark = strchr(text, '\''), *inches = mark ? mark + 2 : text;
    inches[strlen(inches) - 1] = '\0'; /* the inch sign at the end */
    if (mark) {
        *mark = '\0';
        out = stpcpy(stpcpy(out, text), " ft ");
    }
    stpcpy(stpcpy(out, inches), " in");
}

void
sheet_size_words(char out[SHEET_WORDS], length size, const struct sheet_style *style)
{
    char text[LENGTH_TEXT];
    length magnitude = size < 0 ? -size : size;
    length_print(text, magnitude, style->move);
    if (!strpbrk(text, "123456789"))
        stpcpy(out, magnitude == 0 ? "0" : smallest_words(style));
    else if (style->move.form == LENGTH_AS_MM)
        stpcpy(stpcpy(out, text), " mm");
    else
        inches_words(out, magnitude, style);
}

void
sheet_move_words(char out[SHEET_WORDS], length size, const struct sheet_style *style)
{
    sheet_size_words(stpcpy(out, size < 0 ? "down " : "up "), size, style);
}

/* One step finer than moves. */
static struct length_style
sigma_style(const struct sheet_style *style)
{
    struct length_style as = style->move;
    if (as.form == LENGTH_AS_MM)
        as.places++;
    else
        as.parts = as.parts < 64 ? 2 * as.parts : 64;
    return as;
}

void
sheet_sigma_words(char out[SHEET_WORDS], double sigma, const struct sheet_style *style)
{
    char text[LENGTH_TEXT];
    struct length_style as = sigma_style(style);
    out[0] = '\0';
    if (!(sigma >= 0))
        return;
    bool none = !(sigma > 0);
    length_print(text, none ? 0 : (length)(sigma * (double)LENGTH_M + 0.5), as);
    if (none || strpbrk(text, "123456789")) {
        stpcpy(out, none ? "0" : text);
        out[strcspn(out, "\"")] = '\0'; /* the heading says inches */
        return;
    }
    if (as.form == LENGTH_AS_MM)
        stpcpy(out, as.places == 1 ? "<0.1" : "<0.01");
    else
        snprintf(out, SHEET_WORDS, "<1/%d", as.parts);
}

void
sheet_sure_words(char out[SHEET_WORDS], double sigma, const struct sheet_style *style)
{
    sheet_sigma_words(out, sigma, style);
    if (out[0])
        stpcpy(out + strlen(out), style->move.form == LENGTH_AS_MM ? " mm" : " in");
}

void
sheet_verdict_words(char out[SHEET_WORDS], const struct job_stake *s, const struct sheet_style *style)
{
    out[0] = '\0';
    if (!s->has_adjusted || !s->has_grade)
        return;
    if (s->verdict == JOB_LEAVE)
        stpcpy(out, "leave");
    else
        sheet_move_words(out, s->move.move, style);
}

const char *
sheet_link_word(enum level_link_kind kind)
{
    static const char *const words[] = { "loop", "link", "spur" };
    return words[kind];
}

const char *
sheet_quality_word(uint8_t quality)
{
    static const char *const words[] = { "closed", "forced", "unchecked", "outside" };
    return words[quality];
}

const char *
sheet_within_word(enum level_within within)
{
    static const char *const words[] = { "not judged", "within", "OUTSIDE" };
    return words[within];
}

const char *
sheet_verdict_word(enum job_verdict verdict)
{
    static const char *const words[] = { "move", "leave", "unsure", "unread" };
    return words[verdict];
}
