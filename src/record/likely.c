/* likely.c - lengths that few things have, because another unit was meant */
#include "fields.h"

#include <stdio.h>
#include <string.h>

struct likely {
    length most_ft, most_m;      /* in jobs of feet, or of feet and inches; in jobs of metres */
    const char *said_ft, *said_m; /* these, as a crew says them */
    const char *example_m;       /* what is written there: millimetres for what is thin, centimetres for what is deep */
    const char *few;
    bool warns;                  /* a bare number is let through, with a warning */
};

/* Common sense, no source: far beyond what small buildings have, and below the number of inches, centimetres or millimetres
 * that the same thing has. */
static const struct likely table[LIKELY_KINDS] = {
    [LIKELY_DEPTH] = { 12 * LENGTH_FT, 4 * LENGTH_M, "12 ft", "4 m", "105 cm", "few holes for posts are so deep", false },
    [LIKELY_FOOTING] = { 3 * LENGTH_FT, LENGTH_M, "3 ft", "1 m", "150 mm", "few footings are so thick", false },
    [LIKELY_ACROSS] = { 6 * LENGTH_FT, 2 * LENGTH_M, "6 ft", "2 m", "400 mm", "few holes for posts are so wide", false },
    [LIKELY_HEIGHT] = { 6 * LENGTH_FT, 2 * LENGTH_M, "6 ft", "2 m", "300 mm", "little in a hole is so high", false },
    [LIKELY_POST] = { 60 * LENGTH_FT, 20 * LENGTH_M, "60 ft", "20 m", "300 cm", "few posts are so long", false },
    [LIKELY_APART] = { 20 * LENGTH_FT, 6 * LENGTH_M, "20 ft", "6 m", "120 cm", "few posts are plumbed over so much", false },
    [LIKELY_SECTION] = { 3 * LENGTH_FT, LENGTH_M, "3 ft", "1 m", "140 mm", "few posts are so thick", false },
    [LIKELY_NAILED] = { LENGTH_FT, 300 * LENGTH_MM, "1 ft", "300 mm", "38 mm", "little that is nailed to posts is so thick", false },
    [LIKELY_STONE] = { 2 * LENGTH_FT, 600 * LENGTH_MM, "2 ft", "600 mm", "100 mm", "little stone is laid so thick", false },
    [LIKELY_FILL] = { 3 * LENGTH_FT, LENGTH_M, "3 ft", "1 m", "100 mm", "little concrete ends so deep", false },
    [LIKELY_SLUMP] = { LENGTH_FT, 300 * LENGTH_MM, "12 in", "300 mm", "65 mm", "the cone that it is measured with is no higher", false },
    [LIKELY_TOLERANCE] = { 2 * LENGTH_IN, 50 * LENGTH_MM, "2 in", "50 mm", "6 mm", "few crews leave so much", true },
};

static bool
is_bare(const char *text, size_t n)
{
    return strspn(text, "+-.0123456789") == n;
}

bool
is_likely(struct reader *in, const char *key, size_t n, length value, size_t kind)
{
    const struct likely *one = &table[kind];
    bool metric = in->r->job.unit == LENGTH_BARE_M;
    length most = metric ? one->most_m : one->most_ft;
    const char *text = events_text(&in->e), *said = metric ? one->said_m : one->said_ft;
    int shown = n < 40 ? (int)n : 40;
    if (kind == LIKELY_ANY || (value <= most && value >= -most))
        return true;
    if (!is_bare(text, n)) {
        diag_say(in->d, DIAG_WARNING, events_place(&in->e), "unit-meant", "%s: %.*s is more than %s, and %s; was another unit meant?",
            key, shown, text, said, one->few);
        return true;
    }
    char inches[48];
    snprintf(inches, sizeof inches, "%.*s in", shown, text);
    diag_say(in->d, one->warns ? DIAG_WARNING : DIAG_ERROR, events_place(&in->e), "unit-meant",
        "%s: %.*s is %.*s %s, more than %s, and %s; was another unit meant? write %s, or %.*s %s where it is so", key, shown, text,
        shown, text, metric ? "m" : "ft", said, one->few, metric ? one->example_m : inches, shown, text, metric ? "m" : "ft");
    return one->warns;
}

void
take_likely(struct reader *in, void *at, const struct field *field)
{
    length value = 0;
    take_distance(in, &value, field);
    if (value > 0 && is_likely(in, field->key, events_length(&in->e), value, field->word_count))
        *(length *)at = value;
}

void
take_likely_signed(struct reader *in, void *at, const struct field *field)
{
    length value;
    if (wants_scalar(in, "a length") && length_of_scalar(in, &value)
        && is_likely(in, field->key, events_length(&in->e), value, field->word_count))
        *(length *)at = value;
}
