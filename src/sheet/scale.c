/* scale.c - scales that drawings are made to */
#include "scale.h"

#include "page.h"

#include <math.h>
#include <string.h>

#define POINTS_A_NM (72.0 / 25.4e6)
#define STEP_LEAST 26.0 /* points: the figures below the bar keep apart */

/* Inches to the foot. */
static const struct {
    double ratio;
    const char *words;
} inches[] = {
    { 12, "1 in = 1 ft (1:12)" }, { 16, "3/4 in = 1 ft (1:16)" }, { 24, "1/2 in = 1 ft (1:24)" }, { 32, "3/8 in = 1 ft (1:32)" },
    { 48, "1/4 in = 1 ft (1:48)" }, { 64, "3/16 in = 1 ft (1:64)" }, { 96, "1/8 in = 1 ft (1:96)" }, { 128, "3/32 in = 1 ft (1:128)" },
    { 192, "1/16 in = 1 ft (1:192)" },
};

static const double feet_to_the_inch[] = { 20, 30, 40, 50, 60, 80 };
static const double ratios[] = { 10, 20, 25, 50 };

/* The least of usual ratios, and ten times those, and so on, that is `least` or more. */
static double
usual_ratio(const double *ratio, size_t n, double least)
{
    double tens = 1;
    while (ratio[n - 1] * tens < least)
        tens *= 10;
    size_t i = 0;
    while (ratio[i] * tens < least)
        i++;
    return ratio[i] * tens;
}

static void
choose_feet(struct scale *s, double least)
{
    for (size_t i = 0; i < sizeof inches / sizeof inches[0]; i++)
        if (inches[i].ratio >= least) {
            s->ratio = inches[i].ratio;
            stpcpy(s->words, inches[i].words);
            return;
        }
    s->ratio = 12 * usual_ratio(feet_to_the_inch, sizeof feet_to_the_inch / sizeof feet_to_the_inch[0], least / 12);
    snprintf(s->words, sizeof s->words, "1 in = %.0f ft (1:%.0f)", s->ratio / 12, s->ratio);
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
    double least = fmax((double)along * POINTS_A_NM / width, (double)up * POINTS_A_NM / height);
    if (unit == LENGTH_BARE_M) {
        s.ratio = usual_ratio(ratios, sizeof ratios / sizeof ratios[0], least);
        snprintf(s.words, sizeof s.words, "1:%.0f", s.ratio);
    } else {
        choose_feet(&s, least);
    }
    s.points = POINTS_A_NM / s.ratio;
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
