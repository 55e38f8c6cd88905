/* test_profile.c - profiles and loops on paper: scales, and that nothing stands over anything, whatever the job */
#include "drawn.h"

#include "../../src/sheet/profile.h"

#include <dirent.h>
#include <stdbool.h>

/* ---- scales ---- */

static struct profile_scale
scale_of(enum length_unit unit, length along, length low, length high, double width, double height)
{
    const struct profile_span span = { along, true, low, high, width, height };
    return profile_scale_choose(unit, &span);
}

static void
scales_are_usual_ones(void **state)
{
    (void)state;
    /* 30 m in 160 mm: 1:200; 0.4 m in 45 mm at 1:10 */
    struct profile_scale s = scale_of(LENGTH_BARE_M, 30 * LENGTH_M, 48 * LENGTH_M, 48 * LENGTH_M + 260 * LENGTH_MM, 454, 150);
    assert_near(s.along, 200, 0);
    assert_near(s.up, 10, 0);
    assert_string_equal(s.words, "scale 1:200 along, 1:10 up: heights 20 times");
    assert_near(s.x * 1e9, 72 / 25.4 * 1000 / 200, 1e-9); /* points for a metre */
    assert_near(s.y * 1e9, 72 / 25.4 * 1000 / 10, 1e-9);
    /* 32 ft in 6.2 in: 3/16 in to the foot; half a foot of heights at 3 in to the foot */
    s = scale_of(LENGTH_BARE_FT, 32 * LENGTH_FT, 100 * LENGTH_FT, 100 * LENGTH_FT + LENGTH_FT / 4, 446, 150);
    assert_string_equal(s.words, "scale 3/16 in = 1 ft along, 3 in = 1 ft up: heights 16 times");
    s = scale_of(LENGTH_BARE_FT_IN, 2000 * LENGTH_FT, 100 * LENGTH_FT, 130 * LENGTH_FT, 446, 150);
    assert_string_equal(s.words, "scale 1 in = 400 ft along, 1 in = 20 ft up: heights 20 times"); /* 1/16 in to the foot is too tall, and 300 ft too long */
    /* steeper than the paper is high: no exaggeration */
    s = scale_of(LENGTH_BARE_M, 10 * LENGTH_M, 0, 30 * LENGTH_M, 446, 150);
    assert_string_equal(s.words, "scale 1:1000 along and up: heights not exaggerated");
}

/* For any span: it fits, in both ways, by a whole or half exaggeration; the datum is a whole step, below all and no farther than a step. */
static void
scales_hold_what_they_must(void **state)
{
    uint64_t seed = 7;
    (void)state;
    for (int i = 0; i < 20000; i++) {
        double unit[4];
        for (int k = 0; k < 4; k++) {
            seed = seed * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
            unit[k] = (double)(seed >> 33) / (double)(UINT64_C(1) << 31);
        }
        enum length_unit u = i % 3 == 0 ? LENGTH_BARE_M : i % 3 == 1 ? LENGTH_BARE_FT : LENGTH_BARE_FT_IN;
        length along = (length)(1e9 * pow(10, 4 * unit[0])), low = (length)(2e12 * (unit[1] - 0.5)), high = low + (length)(1e6 * pow(10, 5 * unit[2]));
        double width = 200 + 500 * unit[3], height = 80 + 100 * unit[3];
        struct profile_scale s = scale_of(u, along, low, high, width, height);
        length datum = profile_datum(&s, low);
        assert_true((double)along * s.x <= width + 1e-6);
        assert_true((double)(high - datum) * s.y <= height);
        assert_true(datum % s.step == 0 && datum < low);
        assert_true((double)(low - datum) * s.y <= 6 + (double)s.step * s.y + 1e-6);
        assert_near(s.along / s.up * 2, round(s.along / s.up * 2), 1e-9);
        assert_true(s.along / s.up >= 1 && s.along / s.up <= 50);
        assert_true((double)s.step * s.y >= 14);
    }
}

/* ---- the band ---- */

/* Columns keep apart and in order, stay within, and none moves that need not. */
static void
columns_are_pushed_apart(void **state)
{
    struct profile_band b;
    (void)state;
    assert_int_equal(profile_band_open(&b, 40), 0);
    (void)profile_band_row(&b, "point");
    for (size_t i = 0; i < 40; i++) {
        char name[16];
        snprintf(name, sizeof name, "P%zu", i + 1);
        profile_band_set(&b, 0, i, name);
        b.at[i] = i < 20 ? 100 + (double)i * 0.5 : 300 + (double)i * 5; /* a crowd, and some that have room */
    }
    profile_band_plan(&b, 60, 540);
    assert_true(b.turned);
    for (size_t i = 1; i < 40; i++)
        assert_true(b.x[i] - b.x[i - 1] >= PROFILE_COLUMN - 1e-9);
    assert_true(b.x[0] >= 60 + PROFILE_COLUMN / 2 - 4 && b.x[39] <= 540);
    profile_band_release(&b);
    assert_int_equal(profile_band_open(&b, 3), 0);
    (void)profile_band_row(&b, "point");
    for (size_t i = 0; i < 3; i++) {
        profile_band_set(&b, 0, i, "P1");
        b.at[i] = 150 + 100 * (double)i;
    }
    profile_band_plan(&b, 60, 540);
    assert_false(b.turned);
    for (size_t i = 0; i < 3; i++)
        assert_near(b.x[i], b.at[i], 1e-9);
    profile_band_release(&b);
}

/* ---- whole pages ---- */

static char folder[] = "/tmp/rodbook-profile-XXXXXX";

static const char *
job_file(void)
{
    static char out[256];
    snprintf(out, sizeof out, "%s/job.yaml", folder);
    return out;
}

static int
make_folder(void **state)
{
    (void)state;
    return mkdtemp(folder) ? 0 : -1;
}

static int
empty_folder(void)
{
    DIR *d = opendir(folder);
    for (struct dirent *e; d && (e = readdir(d)) != NULL;) {
        char name[512];
        snprintf(name, sizeof name, "%s/%s", folder, e->d_name);
        if (strstr(e->d_name, ".svg"))
            assert_int_equal(unlink(name), 0);
    }
    closedir(d);
    return 0;
}

static int
remove_folder(void **state)
{
    (void)state;
    empty_folder();
    (void)unlink(job_file());
    return rmdir(folder);
}

static const char *
path(const char *name)
{
    static char out[2][256];
    static int which;
    which = !which;
    snprintf(out[which], sizeof out[which], "%s/%s", folder, name);
    return out[which];
}

#define PAGES_MOST 64

struct sheet {
    struct drawn_page page[PAGES_MOST];
    size_t pages;
};

static struct sheet
draw(const char *survey, const char *show, const char *paper, bool landscape)
{
    struct sheet s = { .pages = 0 };
    char name[32];
    empty_folder();
    struct ran r = landscape ? RUN("sheet", "--show", show, "--paper", paper, "--landscape", "-o", path("page.svg"), survey)
                             : RUN("sheet", "--show", show, "--paper", paper, "-o", path("page.svg"), survey);
    if (r.status > 1)
        fail_msg("%s", r.err);
    ran_release(&r);
    if (access(path("page.svg"), F_OK) == 0)
        s.page[s.pages++] = drawn_read(path("page.svg"));
    for (size_t i = 1; s.pages < PAGES_MOST; i++) {
        snprintf(name, sizeof name, "page-%zu.svg", i % 1000);
        if (access(path(name), F_OK) != 0)
            break;
        s.page[s.pages++] = drawn_read(path(name));
    }
    assert_true(s.pages > 0);
    return s;
}

static void
sheet_release(struct sheet *s)
{
    for (size_t i = 0; i < s->pages; i++)
        drawn_release(&s->page[i]);
}

static void
is_clear(const char *survey, const char *show)
{
    static const char *const papers[] = { "a4", "letter" };
    for (int k = 0; k < 4; k++) {
        struct sheet s = draw(survey, show, papers[k / 2], k % 2);
        for (size_t i = 0; i < s.pages; i++) {
            char name[512];
            snprintf(name, sizeof name, "%s %s %s%s page %zu", survey, show, papers[k / 2], k % 2 ? " landscape" : "", i + 1);
            drawn_is_clear(&s.page[i], name);
        }
        sheet_release(&s);
    }
}

static size_t
times_found(const struct sheet *s, const char *words)
{
    size_t n = 0;
    for (size_t i = 0; i < s->pages; i++)
        for (size_t k = 0; k < s->page[i].texts; k++)
            n += strcmp(s->page[i].text[k].words, words) == 0;
    return n;
}

static const struct drawn_text *
found(const struct sheet *s, const char *words)
{
    for (size_t i = 0; i < s->pages; i++)
        if (drawn_find(&s->page[i], words))
            return drawn_find(&s->page[i], words);
    fail_msg("\"%s\" is on no page", words);
    return NULL;
}

static void
says(const struct sheet *s, const char *words)
{
    for (size_t i = 0; i < s->pages; i++)
        if (strstr(s->page[i].svg, words))
            return;
    fail_msg("\"%s\" is in no page", words);
}

static FILE *
begin_job(const char *unit, const char *least, const char *allow)
{
    FILE *f = fopen(job_file(), "w");
    assert_non_null(f);
    fprintf(f, "---\njob: Long house\nunit: %s\nleast: %s\nallow: {misclosure: %s, per: root-setup}\n---\nmarks:\n  BM1: {elevation: 100%s}\n", unit,
        least, allow, strcmp(unit, "ft-in") == 0 ? " ft" : "");
    return f;
}

/* A run of `n` set-ups that goes up and down, with side shots; TP names begin with `name`. */
static void
write_run(size_t n, const char *name, bool dist, int misclosure)
{
    FILE *f = begin_job("ft", "0.01", "0.02");
    int carried = 0;
    fprintf(f, "---\nlevels:\n  date: 2026-05-02\n  readings:\n    - {at: BM1, bs: 5.00%s}\n", dist ? ", bs-dist: 71" : "");
    for (size_t i = 1; i < n; i++) {
        int low = 300 + (int)(i * 37 % 90), up = (int)((i + i % 2) * 29 % 300); /* what goes up comes down with the next */
        int bs = i % 2 ? low + up : low, fs = i % 2 ? low : low + up;
        for (size_t k = 0; k < i % 4; k++)
            fprintf(f, "    - {at: S%zu_%zu, on: ground, is: %zu.%02zu}\n", i, k, 2 + (i + k) % 6, i * 13 % 100);
        fprintf(f, "    - {at: \"%s%zu\", fs: %d.%02d, bs: %d.%02d%s}\n", name, i, fs / 100, fs % 100, bs / 100, bs % 100,
            dist ? ", fs-dist: 64, bs-dist: 83" : "");
        carried += bs - fs;
    }
    carried += 500 - misclosure; /* what the last foresight must read */
    assert_true(carried > 0);
    fprintf(f, "    - {at: BM1, fs: %d.%02d%s}\nby: RO\ntime: 2026-05-02T09:35:00Z\n", carried / 100, carried % 100, dist ? ", fs-dist: 70" : "");
    assert_int_equal(fclose(f), 0);
}

static void
sixty_setups_are_clear(void **state)
{
    (void)state;
    for (int k = 0; k < 2; k++) {
        write_run(60, "TP", k == 1, 2);
        is_clear(job_file(), "profile");
        is_clear(job_file(), "loops");
        struct sheet s = draw(job_file(), "profile", "a4", false);
        for (size_t i = 1; i < 60; i++) { /* each once, or twice where a strip ends and the next begins */
            char name[32], setup[32];
            snprintf(name, sizeof name, "TP%zu", i);
            snprintf(setup, sizeof setup, "3.%zu", i);
            assert_in_range(times_found(&s, name), 1, 2);
            assert_int_equal(times_found(&s, setup), 1);
        }
        if (k == 0)
            says(&s, "some length is not booked: one step a set-up");
        else
            says(&s, " times; datum ");
        sheet_release(&s);
    }
}

/* Forty posts between two battens: ground, hole, mark. */
static void
write_posts(const char *unit, const char *least, const char *name)
{
    const char *ft = strcmp(unit, "ft-in") == 0 ? " ft" : "";
    FILE *f = begin_job(unit, least, strcmp(unit, "ft-in") == 0 ? "1/4 in" : "0.02");
    fprintf(f, "---\npoints:\n  W: {x: -4%s, y: -0.4%s, kind: batten}\n  E: {x: 240%s, y: -0.4%s, kind: batten}\n", ft, ft, ft, ft);
    for (int i = 0; i < 40; i++)
        fprintf(f, "  \"%s%d\": {x: %d%s, y: 0%s, kind: post}\n", name, i + 1, 6 * i + (i % 7 == 3 ? 2 : 0), ft, ft);
    fprintf(f, "---\ngrade: {name: string, means: finish, for: [batten, post], level: 101.5%s, tolerance: 1/8 in}\n---\nlevels:\n  readings:\n"
        "    - {at: BM1, bs: 4.62%s}\n", ft, ft);
    for (int i = 0; i < 40; i++)
        fprintf(f, "    - {at: \"%s%d\", on: ground, is: 3.%02d%s}\n    - {at: \"%s%d\", on: hole, is: 6.%02d%s}\n    - {at: \"%s%d\", on: post, is: 3.%02d%s}\n",
            name, i + 1, 20 + i * 7 % 60, ft, name, i + 1, 30 + i * 11 % 40, ft, name, i + 1, 8 + i % 9, ft);
    fprintf(f, "    - {at: W, on: batten, is: 3.10%s}\n    - {at: E, on: batten, is: 3.13%s}\n    - {at: BM1, fs: 4.63%s}\nby: RO\n"
        "time: 2026-05-02T09:35:00Z\n", ft, ft, ft);
    assert_int_equal(fclose(f), 0);
}

static void
forty_posts_are_clear(void **state)
{
    static const char *const units[] = { "ft", "m", "ft-in" }, *const least[] = { "0.01", "0.001", "1/16 in" };
    (void)state;
    for (size_t u = 0; u < 3; u++) {
        write_posts(units[u], least[u], "P");
        is_clear(job_file(), "profile");
        struct sheet s = draw(job_file(), "profile", "letter", true);
        for (int i = 1; i <= 40; i++) {
            char name[32];
            snprintf(name, sizeof name, "P%d", i);
            assert_in_range(times_found(&s, name), 1, 3);
        }
        says(&s, "hole bottom");
        says(&s, "have them located and marked before any digging"); /* shown alone, it carries the caution itself */
        says(&s, "W to E: string and posts");
        sheet_release(&s);
    }
}

/* Names that would be something else in SVG, in other alphabets, and long ones. */
static void
names_come_out_literally(void **state)
{
    static const char *const names[] = { "</text><script>x</script>&lt;", "\xd0\x97\xd0\xb0\xd0\xb1\xd0\xbe\xd1\x80", "\xd9\x85\xd8\xb1\xd8\xad\xd8\xa8\xd8\xa7",
        "\xe6\xb0\xb4\xe6\xba\x96\xe7\x82\xb9", "The post at the far end of the long wall beside the lane, north side no." };
    (void)state;
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        write_posts("ft", "0.01", names[i]);
        is_clear(job_file(), "profile");
        write_run(9, names[i], false, 2);
        is_clear(job_file(), "profile");
        is_clear(job_file(), "loops");
        struct sheet s = draw(job_file(), "loops", "a4", false);
        for (size_t k = 0; k < s.pages; k++)
            assert_null(strstr(s.page[k].svg, "<script"));
        sheet_release(&s);
    }
}

/* A figure of the band stands below its point: as far from the next as the scale says. */
static void
points_stand_to_scale(void **state)
{
    (void)state;
    struct sheet s = draw("surveys/quay-nursery.yaml", "profile", "a4", false);
    const struct drawn_text *a = found(&s, "W1"), *b = found(&s, "W2"), *c = found(&s, "W3");
    double eighteen = 18000 / 250.0 * 72 / 25.4; /* 18 m at 1:250, a scale that plans have too */
    says(&s, "scale 1:250 along, 1:100 up: heights 2.5 times; datum 3.5 m");
    says(&s, "scale 1:200 along, 1:10 up: heights 20 times; datum 4.65 m");
    assert_near((c->left + c->right) / 2 - (b->left + b->right) / 2, eighteen, 0.02);
    assert_true((b->left + b->right) / 2 - (a->left + a->right) / 2 <= eighteen + 0.02); /* the first is pushed off the headings */
    sheet_release(&s);
}

/* The line before a text of the legend, without where it is. */
static void
legend_line(const struct drawn_page *p, const char *words, char out[512])
{
    char text[128];
    snprintf(text, sizeof text, ">%s</text>", words);
    const char *at = strstr(p->svg, text), *line = NULL;
    for (const char *q = at ? p->svg : NULL; q && (q = strstr(q, "<path ")) != NULL && q < at; q++)
        line = q;
    out[0] = '\0';
    for (size_t n = 0; line && *line != '>' && n < 511; line++) {
        const char *d = strncmp(line, " d=\"", 4) == 0 ? strchr(line + 4, '"') : NULL;
        line = d ? d : line;
        out[n++] = *line;
        out[n] = '\0';
    }
}

/* Where a grade is drawn with others or alone, its line is one and the same. */
static void
a_grade_has_one_line_in_all_profiles(void **state)
{
    char first[512] = "", line[512];
    size_t with = 0, alone = 0;
    (void)state;
    struct sheet s = draw("surveys/fernhill.yaml", "profile", "a4", true);
    for (size_t i = 0; i < s.pages; i++) {
        legend_line(&s.page[i], "grade pad", line);
        if (!line[0])
            continue;
        if (!first[0])
            strcpy(first, line);
        assert_string_equal(line, first);
        bool other = drawn_find(&s.page[i], "grade string") != NULL;
        with += other;
        alone += !other;
    }
    assert_true(with > 0 && alone > 0 && strstr(first, "dasharray"));
    sheet_release(&s);
}

/* One that is known at one point of a row has no line there: the legend does not name it, nor is the drawing high enough for it. */
static void
what_is_not_drawn_is_not_in_the_legend(void **state)
{
    (void)state;
    struct sheet s = draw("surveys/mill-lane.yaml", "profile", "a4", false);
    assert_int_equal(times_found(&s, "grade bed"), 2 + 3); /* B1 to B4, in the legend and at the line; and in the band of each of three rows */
    assert_int_equal(times_found(&s, "turning point"), 1);  /* of three runs one has any */
    assert_int_equal(times_found(&s, "point itself"), 0);
    assert_int_equal(times_found(&s, "mark"), 0); /* N1 and N2 are battens, as on the plan */
    sheet_release(&s);
    s = draw("surveys/quay-nursery.yaml", "profile", "a4", false);
    assert_int_equal(times_found(&s, "grade wire"), 3 + 2); /* W1 to W3, in the legend, at the line and in the band; H1 to H2 and H3 to H4 have it in the band alone */
    says(&s, "heights 5 times; datum 4.1 m");
    assert_int_equal(times_found(&s, "unchecked"), 1);
    sheet_release(&s);
}

/* Nobody has to subtract: the moves stand in the band, as on the plan. */
static void
moves_stand_in_the_band(void **state)
{
    (void)state;
    struct sheet s = draw("surveys/fernhill.yaml", "profile", "a4", false), plan = draw("surveys/fernhill.yaml", "plan", "a4", false);
    static const char *const moves[] = { "up 3/8 in", "up 3/4 in", "up 2-7/8 in", "down 7/8 in", "down 2-3/8 in", "down 1-1/8 in" };
    for (size_t i = 0; i < sizeof moves / sizeof moves[0]; i++) {
        assert_int_equal(times_found(&plan, moves[i]), 1);
        assert_int_equal(times_found(&s, moves[i]), 1);
        assert_true(found(&s, moves[i])->size >= PAGE_TEXT); /* it is acted on */
    }
    sheet_release(&s);
    sheet_release(&plan);
    s = draw("surveys/quay-nursery.yaml", "profile", "a4", false);
    assert_true(times_found(&s, "read it") >= 3); /* K6, in two rows, and the wires */
    sheet_release(&s);
}

/* A point that was read on the ground and in the hole is told twice, each time what it is. */
static void
one_name_is_not_two_points(void **state)
{
    (void)state;
    struct sheet s = draw("surveys/quay-nursery.yaml", "profile", "a4", false);
    static const char *const names[] = { "W1 ground", "W1 hole", "W2 ground", "W2 hole" };
    for (size_t i = 0; i < 4; i++)
        assert_int_equal(times_found(&s, names[i]), 1);
    (void)found(&s, "K4"); /* and who was read once has the name alone */
    assert_int_equal(times_found(&s, "K4 ground"), 0);
    /* The line of sight of an open set-up goes on to the last that was read: DRAIN, which hangs from it. */
    for (size_t i = 0; i < s.pages; i++) {
        const struct drawn_text *drain = drawn_find(&s.page[i], "DRAIN");
        const char *at = drain ? strstr(s.page[i].svg, "<title>Levels of entry 8") : NULL;
        double most = 0;
        for (const char *end = at ? strstr(at, "DRAIN") : NULL; at && (at = strstr(at, "stroke-width=\"0.8\"")) != NULL && at < end; at++) {
            const char *path = at;
            while (strncmp(path, "<path", 5) != 0)
                path--;
            double x1 = NAN, y1 = NAN, x2 = NAN, y2 = NAN;
            const char *d = strstr(path, " d=\"M");
            if (d && sscanf(d, " d=\"M%lf %lfL%lf %lf", &x1, &y1, &x2, &y2) == 4 && y1 == y2)
                most = fmax(most, x2);
        }
        if (drain)
            assert_true(most > drain->left - 8 && most < drain->left);
    }
    sheet_release(&s);
}

/* Two go on a page where they can, lower or side by side; none is left with the last sentence alone. */
static void
profiles_share_pages(void **state)
{
    static const struct {
        const char *survey;
        size_t pages[4]; /* A4, letter; then the same lying */
    } jobs[] = { { "surveys/fernhill.yaml", { 4, 5, 6, 5 } }, { "surveys/mill-lane.yaml", { 3, 3, 5, 4 } },
        { "surveys/quay-nursery.yaml", { 4, 4, 5, 5 } } };
    (void)state;
    for (size_t i = 0; i < 12; i++) {
        struct sheet s = draw(jobs[i / 4].survey, "profile", i & 1 ? "letter" : "a4", i & 2);
        if (s.pages > jobs[i / 4].pages[i % 4])
            fail_msg("%s: %zu pages", jobs[i / 4].survey, s.pages);
        sheet_release(&s);
    }
    struct sheet s = draw("surveys/fernhill.yaml", "profile", "a4", true);
    const struct drawn_text *a = found(&s, "SW2 to NW2: string and posts"), *b = found(&s, "SE2 to NE2: string and posts");
    assert_near(a->top, b->top, 1e-9);
    assert_true(b->left > a->right);
    sheet_release(&s);
}

/* Two walls of one length on a page, or side by side, can be compared: their heights have one scale. */
static void
twins_have_one_scale(void **state)
{
    (void)state;
    for (int k = 0; k < 4; k++) {
        struct sheet s = draw("surveys/fernhill.yaml", "profile", k & 1 ? "letter" : "a4", k & 2);
        char scale[64] = "";
        for (size_t page = 0; page < s.pages; page++) {
            const char *last = NULL;
            for (size_t i = 0; i < s.page[page].texts; i++) {
                const char *words = s.page[page].text[i].words;
                if (strncmp(words, "scale 3/16 in", 13) != 0)
                    continue;
                snprintf(scale, sizeof scale, "%.*s", (int)strcspn(words, ":"), words);
                if (last && strncmp(last, scale, strlen(scale)) != 0)
                    fail_msg("way %d: \"%s\" beside \"%s\"", k, last, words);
                last = words;
            }
        }
        assert_true(scale[0] != '\0');
        sheet_release(&s);
    }
}

/* A grade's line leaves the lines under it whole, and its name stands at it. */
static void
grades_are_told_from_strings(void **state)
{
    (void)state;
    struct sheet s = draw("surveys/quay-nursery.yaml", "profile", "a4", false);
    for (size_t i = 0; i < s.pages; i++)
        assert_null(strstr(s.page[i].svg, "stroke=\"#ffffff\""));
    const struct drawn_text *key = NULL, *at = NULL;
    for (size_t i = 0; i < s.page[0].texts; i++) {
        const struct drawn_text *t = &s.page[0].text[i];
        if (strcmp(t->words, "grade wire") != 0)
            continue;
        key = key ? key : t;
        at = !at && t->top > key->bottom ? t : at;
    }
    assert_non_null(at);
    assert_true(at->right > s.page[0].width / 2); /* at the right end of its line, over it, and not in the band */
    assert_int_equal(times_found(&s, "grade wire") >= 3, 1);
    sheet_release(&s);
}

/* What other levels gave is not as carried. */
static void
a_way_says_what_it_begins_on(void **state)
{
    (void)state;
    struct sheet s = draw("surveys/quay-nursery.yaml", "profile", "a4", false);
    says(&s, "elevations as carried from TP2 as");
    says(&s, "adjusted, 5.2129, without corrections");
    says(&s, "elevations as carried, without corrections"); /* from a benchmark */
    sheet_release(&s);
}

/* Intermediate sights have their names, on a second level where they crowd. */
static void
sights_have_their_names(void **state)
{
    static const struct {
        const char *survey, *name;
    } wanted[] = { { "surveys/fernhill.yaml", "A1 ground" }, { "surveys/fernhill.yaml", "B1 ground" }, { "surveys/fernhill.yaml", "B3 ground" },
        { "surveys/fernhill.yaml", "B5 hole" }, { "surveys/fernhill.yaml", "A3 ground" }, { "surveys/fernhill.yaml", "A5 ground" } };
    (void)state;
    for (size_t i = 0; i < sizeof wanted / sizeof wanted[0]; i++) {
        struct sheet s = draw(wanted[i].survey, "profile", "a4", false);
        if (times_found(&s, wanted[i].name) != 1)
            fail_msg("%s stands %zu times", wanted[i].name, times_found(&s, wanted[i].name));
        sheet_release(&s);
    }
    struct sheet s = draw("surveys/fernhill.yaml", "profile", "a4", false);
    assert_int_equal(times_found(&s, "A3 post"), 2);
    sheet_release(&s);
    s = draw("surveys/quay-nursery.yaml", "profile", "a4", false);
    assert_true(times_found(&s, "H2") >= 3); /* twice in the levels, and in the band of its string */
    sheet_release(&s);
}

/* ---- loops ---- */

static void
loops_say_how_they_close(void **state)
{
    (void)state;
    struct sheet s = draw("surveys/fernhill.yaml", "loops", "a4", false);
    says(&s, "<title>Loop BM1 to BM1, 3 set-ups from 5.1</title>");
    says(&s, "misclosure -0.0200 ft (measured - known), allowed 0.0346 ft: within. Largest normalised residual ");
    (void)found(&s, "+0.0346 ft");
    (void)found(&s, "BS BM1");
    assert_int_equal(times_found(&s, "TP1"), 1);
    for (size_t i = 0; i < s.pages; i++)
        assert_null(strstr(s.page[i].svg, "What most likely did it"));
    sheet_release(&s);
}

/* Every bar has its name and its value, however narrow its half of a page is. */
static void
bars_have_names_and_values(void **state)
{
    static const struct {
        const char *survey, *words;
        size_t times;
    } wanted[] = { { "fernhill", "BS TP1", 1 }, { "fernhill", "FS TP1", 1 }, { "fernhill", "BS TP2", 1 }, { "fernhill", "FS TP2", 1 },
        { "fernhill", "BS TP3", 1 }, { "fernhill", "BS TP4", 1 }, { "fernhill", "BS BM1", 3 }, { "fernhill", "-0.0200 ft", 1 },
        { "fernhill", "-0.0133 ft", 1 }, { "fernhill", "+0.0100 ft", 1 }, { "fernhill", "2.19", 3 }, { "fernhill", "1.75", 2 }, { "fernhill", "1.25", 4 },
        { "fernhill", "1.48", 2 }, { "fernhill", "0.42", 2 }, { "mill-lane", "BS STEP", 3 }, { "mill-lane", "2.00", 4 }, { "mill-lane", "-1/8 in", 3 },
        { "mill-lane", "-1/16 in", 3 }, { "quay-nursery", "1.29", 2 }, { "quay-nursery", "0.35", 6 }, { "quay-nursery", "-1.67 mm", 1 } };
    char file[64];
    (void)state;
    for (size_t i = 0; i < sizeof wanted / sizeof wanted[0] * 4; i++) {
        snprintf(file, sizeof file, "surveys/%s.yaml", wanted[i / 4].survey);
        struct sheet s = draw(file, "loops", i & 1 ? "letter" : "a4", i & 2);
        if (times_found(&s, wanted[i / 4].words) != wanted[i / 4].times)
            fail_msg("%s: %zu of \"%s\"", file, times_found(&s, wanted[i / 4].words), wanted[i / 4].words);
        assert_int_equal(s.pages, 1);
        sheet_release(&s);
    }
    struct sheet s = draw("surveys/fernhill.yaml", "loops", "a4", false);
    assert_int_equal(times_found(&s, "turning point"), 1);
    assert_int_equal(times_found(&s, "back to where it began: a loop"), 1);
    sheet_release(&s);
    s = draw("surveys/mill-lane.yaml", "loops", "a4", false);
    says(&s, "misclosure -1/8 in (measured - known), allowed 0.177 in: within"); /* in sixteenths where it is that */
    sheet_release(&s);
}

struct area {
    double left, top, right, bottom;
    bool white, drawn;
};

/* The box that a line of SVG draws; false for another mark. */
static bool
area_of(const char *line, struct area *a)
{
    double right, bottom;
    if (sscanf(line, "<path d=\"M%lf %lfL%lf %*fL%*f %lfL%*f %*fZ\"", &a->left, &a->top, &right, &bottom) != 4)
        return false;
    const char *end = strchr(line, '>'), *fill = strstr(line, "fill=\"#ffffff\""), *stroke = strstr(line, "stroke=");
    a->right = right, a->bottom = bottom;
    a->white = fill && fill < end && !(stroke && stroke < end);
    a->drawn = !(fill && fill < end);
    return true;
}

/* No white under a value over a bar, nor over a dashed limit, and all within the axis. */
static void
values_stand_clear_of_bars_and_limits(void **state)
{
    static const char *const surveys[] = { "surveys/fernhill.yaml", "surveys/mill-lane.yaml", "surveys/quay-nursery.yaml" };
    (void)state;
    for (size_t k = 0; k < 12; k++) {
        struct sheet s = draw(surveys[k / 4], "loops", k & 1 ? "letter" : "a4", k & 2);
        const char *svg = s.page[0].svg;
        size_t whites = 0;
        for (const char *at = svg; (at = strstr(at, "<path d=\"M")) != NULL; at++) {
            struct area a, b;
            if (!area_of(at, &a) || !a.white)
                continue;
            whites++;
            for (const char *o = svg; (o = strstr(o, "<path d=\"M")) != NULL; o++) {
                double x, y, end;
                if (area_of(o, &b) && b.drawn && a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom)
                    fail_msg("%s: white at %.1f %.1f is over a bar", surveys[k / 4], a.left, a.top);
                const char *width = strstr(o, "stroke-width=\"0.9\" stroke-dasharray");
                if (sscanf(o, "<path d=\"M%lf %lfL%lf", &x, &y, &end) == 3 && width && width < strchr(o, '>') && x < a.right && end > a.left &&
                    y > a.top && y < a.bottom)
                    fail_msg("%s: white at %.1f %.1f is over a limit", surveys[k / 4], a.left, a.top);
            }
        }
        assert_true(whites > 8);
        sheet_release(&s);
    }
}

/* The last of three keeps the width of the others. */
static void
a_loop_alone_keeps_half_the_width(void **state)
{
    (void)state;
    struct sheet s = draw("surveys/fernhill.yaml", "loops", "a4", true);
    const struct drawn_text *one = found(&s, "TP4"), *alone = found(&s, "TP3");
    assert_true(alone->top > one->top);
    assert_true(alone->right < s.page[0].width / 2);
    sheet_release(&s);
}

/* What the page says of the whole job: how many are off, and which is the worst. */
static void
the_worst_residual_is_named(void **state)
{
    (void)state;
    struct sheet s = draw("surveys/fernhill.yaml", "loops", "a4", true);
    says(&s, "0 of 20 checked observations beyond a limit; the worst is FS TP2 from 5.2 with 2.19");
    sheet_release(&s);
}

/* As the record has them, and what nothing closes is not forgotten. */
static void
loops_follow_the_record(void **state)
{
    static const char *const titles[] = { "Link QA to QB, 2 sections from 6.1", "Link QA to QB, 4 set-ups from 7.1", "Link QA to QB, 1 set-up from 12.1",
        "spur TP2 to DRAIN, 1 set-up from 8.1: nothing closes it" };
    (void)state;
    for (int k = 0; k < 4; k++) {
        struct sheet s = draw("surveys/quay-nursery.yaml", "loops", k & 1 ? "letter" : "a4", k & 2);
        double last = 0;
        assert_int_equal(s.pages, 1);
        for (size_t i = 0; i < 4; i++) {
            const struct drawn_text *t = found(&s, titles[i]);
            double at = t->top * 1000 + t->left; /* row by row */
            assert_true(at > last);
            last = at;
        }
        assert_int_equal(times_found(&s, "back to where it began: a loop"), 0);
        sheet_release(&s);
    }
}

/* One that is outside: not spread, said so in words; and whoever is suspected. */
static void
outside_names_its_suspects(void **state)
{
    (void)state;
    write_run(6, "TP", false, 100);
    is_clear(job_file(), "loops");
    struct sheet s = draw(job_file(), "loops", "a4", false);
    says(&s, "OUTSIDE; NOT spread: find the slip and shoot it again");
    says(&s, "Misclosure, NOT spread: where on the way it came up is not known");
    says(&s, "What most likely did it");
    says(&s, "a foot misread");
    says(&s, "Shoot again");
    sheet_release(&s);
    s = draw(job_file(), "profile", "a4", false);
    assert_true(s.pages > 0);
    sheet_release(&s);
}

/* Two hundred loops: the worst dozen, and how many more. */
static void
of_many_loops_the_worst_are_drawn(void **state)
{
    FILE *f = begin_job("ft", "0.01", "0.02");
    (void)state;
    for (int k = 0; k < 200; k++) /* misclosures of -2 to 2 hundredths, one of 5 */
        fprintf(f, "---\nlevels:\n  readings:\n    - {at: BM1, bs: 5.00}\n    - {at: T%d, fs: 4.00, bs: 3.00}\n    - {at: BM1, fs: %.2f}\nby: RO\n"
            "time: 2026-05-02T09:35:00Z\n", k, 4 - (k == 137 ? 5 : k % 5 - 2) / 100.0);
    assert_int_equal(fclose(f), 0);
    is_clear(job_file(), "loops");
    struct sheet s = draw(job_file(), "loops", "a4", false);
    size_t drawn = 0;
    for (size_t i = 0; i < s.pages; i++)
        for (const char *at = s.page[i].svg; (at = strstr(at, "<title>Loop BM1")) != NULL; at++)
            drawn++;
    assert_int_equal(drawn, 12);
    says(&s, "And 188 more loops and links, none of them outside; the field book lists all.");
    (void)found(&s, "T137");
    says(&s, "set-ups from 140.1"); /* the worst, among the others in the order of the record */
    const char *number = s.page[0].svg;
    long last = 0;
    while ((number = strstr(number, "<title>Loop BM1 to BM1, 2 set-ups from ")) != NULL) {
        number += strlen("<title>Loop BM1 to BM1, 2 set-ups from ");
        assert_true(strtol(number, NULL, 10) > last);
        last = strtol(number, NULL, 10);
    }
    assert_true(last > 0);
    sheet_release(&s);
    s = draw(job_file(), "profile", "a4", false);
    says(&s, "Of 200 runs of levels the last 24 are drawn; the field book has all.");
    sheet_release(&s);
}

static void
long_loops_are_thinned(void **state)
{
    (void)state;
    write_run(700, "TP", false, 3);
    is_clear(job_file(), "loops");
    struct sheet s = draw(job_file(), "loops", "a4", false);
    assert_int_equal(s.pages, 1);
    says(&s, "every 50th point of the way is named");
    says(&s, "of bars too close to draw, the largest");
    assert_int_equal(times_found(&s, "TP100"), 1);
    assert_int_equal(times_found(&s, "TP160"), 0);
    sheet_release(&s);
}

/* Sections that do not say how sure they are: no residuals, and no fault of the sheet. */
static void
without_a_fit_it_is_said(void **state)
{
    FILE *f = fopen(job_file(), "w");
    (void)state;
    assert_non_null(f);
    fputs("---\njob: Sections\nunit: m\nleast: 0.001\nallow: {misclosure: 9 mm, per: job}\nspread: distance\n---\nmarks:\n  A: {elevation: 5.214}\n---\n"
        "sections:\n  rows:\n    - {from: A, to: B, rise: 0.187, dist: 84 m}\n    - {from: B, to: A, rise: -0.184, dist: 90 m}\n", f);
    assert_int_equal(fclose(f), 0);
    is_clear(job_file(), "loops");
    struct sheet s = draw(job_file(), "loops", "a4", false);
    says(&s, "Residuals are not known; an adjustment of the job says why.");
    says(&s, "misclosure +3.00 mm");
    sheet_release(&s);
}

/* Names that are too long are told apart by their last letters, cut between letters. */
static void
long_names_keep_their_ends(void **state)
{
    static const char *const names[] = { "NorthGable cluster 0 xxx005", "NorthGable cluster 0 xxx011",
        "\xd0\xa1\xd0\xb5\xd0\xb2\xd0\xb5\xd1\x80\xd0\xbd\xd1\x8b\xd0\xb9 \xd1\x83\xd0\xb3\xd0\xbe\xd0\xbb \xd0\xb4\xd0\xbe\xd0\xbc\xd0\xb0 7" };
    char text[64];
    (void)state;
    for (size_t i = 0; i < 3; i++) {
        double width = profile_fit(text, sizeof text, names[i], 7.5, true, 60);
        assert_true(width <= 60);
        char *cut = strstr(text, "...");
        assert_non_null(cut);
        assert_memory_equal(text, names[i], (size_t)(cut - text));
        assert_string_equal(cut + 3, names[i] + strlen(names[i]) - strlen(cut + 3));
        assert_int_not_equal((unsigned char)*(cut + 3) & 0xc0, 0x80);
        assert_true(canvas_text_width(text, 7.5, true) <= 60 / 0.67 + 1e-9);
        assert_true(canvas_text_width(text, 7.5, true) > 60 / 0.67 - 12); /* as much as there is room for */
    }
    assert_near(profile_fit(text, sizeof text, "A1", 7.5, true, 60), canvas_text_width("A1", 7.5, true), 1e-9);
    assert_string_equal(text, "A1");
    (void)profile_fit(text, sizeof text, names[0], 7.5, true, 1); /* less than its last letters take */
    assert_string_equal(text, "...0 xxx005");
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(scales_are_usual_ones),
        cmocka_unit_test(scales_hold_what_they_must),
        cmocka_unit_test(columns_are_pushed_apart),
        cmocka_unit_test(sixty_setups_are_clear),
        cmocka_unit_test(forty_posts_are_clear),
        cmocka_unit_test(names_come_out_literally),
        cmocka_unit_test(points_stand_to_scale),
        cmocka_unit_test(profiles_share_pages),
        cmocka_unit_test(a_grade_has_one_line_in_all_profiles),
        cmocka_unit_test(what_is_not_drawn_is_not_in_the_legend),
        cmocka_unit_test(moves_stand_in_the_band),
        cmocka_unit_test(one_name_is_not_two_points),
        cmocka_unit_test(twins_have_one_scale),
        cmocka_unit_test(grades_are_told_from_strings),
        cmocka_unit_test(a_way_says_what_it_begins_on),
        cmocka_unit_test(sights_have_their_names),
        cmocka_unit_test(loops_say_how_they_close),
        cmocka_unit_test(bars_have_names_and_values),
        cmocka_unit_test(values_stand_clear_of_bars_and_limits),
        cmocka_unit_test(a_loop_alone_keeps_half_the_width),
        cmocka_unit_test(the_worst_residual_is_named),
        cmocka_unit_test(loops_follow_the_record),
        cmocka_unit_test(outside_names_its_suspects),
        cmocka_unit_test(of_many_loops_the_worst_are_drawn),
        cmocka_unit_test(long_loops_are_thinned),
        cmocka_unit_test(without_a_fit_it_is_said),
        cmocka_unit_test(long_names_keep_their_ends),
    };
    return cmocka_run_group_tests_name("profile", tests, make_folder, remove_folder);
}
