/* scale.c - scales that drawings are made to */
#include "scale.h"

#include "page.h"

#include <math.h>
#include <string.h>

#define STEP_LEAST 26.0 /* points: the figures below the bar keep apart */
#define LARGEST 10.0    /* ratio of a plan: 1 in to the foot, and 1:10 */

/* Inches to the foot. */
static const struct {
    double ratio;
    const char *words;
} inches[] = {
    { 4, "3 in = 1 ft" }, { 8, "1-1/2 in = 1 ft" }, { 12, "1 in = 1 ft" }, { 16, "3/4 in = 1 ft" }, { 24, "1/2 in = 1 ft" },
    { 32, "3/8 in = 1 ft" }, { 48, "1/4 in = 1 ft" }, { 64, "3/16 in = 1 ft" }, { 96, "1/8 in = 1 ft" }, { 128, "3/32 in = 1 ft" },
    { 192, "1/16 in = 1 ft" },
};

#define INCHES (sizeof inches / sizeof inches[0])

static double
tens(size_t n)
{
    double v = 1;
    while (n-- > 0)
        v *= 10;
    return v;
}

double
scale_usual(enum length_unit unit, size_t i)
{
    static const double iso[] = { 1, 2, 5 }, feet[] = { 20, 30, 40, 50, 60, 100 };
    if (unit == LENGTH_BARE_M)
        return iso[i % 3] * tens(i / 3);
    if (i < INCHES)
        return inches[i].ratio;
    size_t k = i - INCHES;
    return 12 * feet[k % 6] * tens(k / 6); /* 200 ft to the inch follows 100 */
}

void
scale_words(char out[SHEET_WORDS], enum length_unit unit, double ratio)
{
    for (size_t i = 0; unit != LENGTH_BARE_M && i < INCHES; i++)
        if (inches[i].ratio == ratio) {
            stpcpy(out, inches[i].words);
            return;
        }
    if (unit == LENGTH_BARE_M)
        snprintf(out, SHEET_WORDS, "1:%.0f", ratio);
    else
        snprintf(out, SHEET_WORDS, "1 in = %.0f ft", ratio / 12);
}

/* The least usual ratio that is `least` or more; between 1:20 and 1:50, and ten times those, also 1:25. */
static double
ratio_from(enum length_unit unit, double least)
{
    size_t i = 0;
    while (scale_usual(unit, i) < fmax(least, LARGEST))
        i++;
    double ratio = scale_usual(unit, i);
    return unit == LENGTH_BARE_M && i % 3 == 2 && ratio / 2 >= fmax(least, LARGEST) ? ratio / 2 : ratio;
}

/* The least of 1, 2, 5, 10 ... times a tenth of a metre, or a foot, that is long enough on paper. */
static length
bar_step(const struct scale *s, enum length_unit unit)
{
    length step = unit == LENGTH_BARE_M ? LENGTH_M / 10 : LENGTH_FT;
    for (int i = 0; (double)step * s->points < STEP_LEAST; i++)
        step = i % 3 == 1 ? step / 2 * 5 : step * 2;
    return step;
}

struct scale
scale_choose(enum length_unit unit, length along, length up, double width, double height)
{
    struct scale s = { 0 };
    char words[SHEET_WORDS];
    double least = fmax((double)along * SCALE_POINTS_A_NM / width, (double)up * SCALE_POINTS_A_NM / height);
    s.ratio = ratio_from(unit, least);
    scale_words(words, unit, s.ratio);
    if (unit == LENGTH_BARE_M)
        stpcpy(s.words, words);
    else
        snprintf(s.words, sizeof s.words, "%s (1:%.0f)", words, s.ratio);
    s.points = SCALE_POINTS_A_NM / s.ratio;
    s.step = bar_step(&s, unit);
    return s;
}

void
scale_bar(struct canvas *c, const struct scale *s, enum length_unit unit, double x, double y)
{
    const struct canvas_pen thin = { 0.6, CANVAS_BLACK, CANVAS_SOLID };
    const struct canvas_type type = { PAGE_SMALL, CANVAS_MIDDLE, CANVAS_BLACK, false, 0 };
    char text[LENGTH_TEXT], last[LENGTH_TEXT + 8];
    double part = (double)s->step * s->points;
    bool metric = unit == LENGTH_BARE_M;
    struct length_style style = { metric ? LENGTH_AS_M : LENGTH_AS_FT, metric && s->step % LENGTH_M != 0, 0 };
    for (int i = 0; i <= SCALE_BAR_PARTS; i++) {
        if (i < SCALE_BAR_PARTS)
            canvas_box(c, thin, i % 2 ? CANVAS_WHITE : CANVAS_BLACK, x + part * i, y, part, 5);
        length_print(text, s->step * i, style);
        snprintf(last, sizeof last, "%s %s", text, metric ? "m" : "ft");
        canvas_text(c, type, x + part * i, y + SCALE_BAR_HEIGHT - PAGE_SMALL * CANVAS_DESCENDER, i == SCALE_BAR_PARTS ? last : text);
    }
}
