/* test_rows.c - which points stand in a row; and the way of a level run */
#include "near.h"

#include "rodbook/course.h"
#include "rodbook/rows.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

struct worked {
    struct source source;
    struct record record;
    struct job job;
    struct diag diag;
    char bytes[20000];
};

static void
work(struct worked *w, const char *points, const char *levels)
{
    int n = snprintf(w->bytes, sizeof w->bytes, "---\njob: Row house\nunit: m\nleast: 0.001\nallow: {misclosure: 4 mm, per: root-setup}\n---\n"
        "marks:\n  BM1: {elevation: 48.375}\n---\npoints:\n%s---\ngrade: {name: top, means: finish, level: 49.100, slope: {fall: 1 in 100, "
        "towards: length}, tolerance: 5 mm}\n---\nlevels:\n  date: 2026-05-02\n  readings:\n%sby: RO\ntime: 2026-05-02T09:00:00Z\n", points, levels);
    assert_true(n > 0 && (size_t)n < sizeof w->bytes);
    w->source = source_of_bytes(w->bytes, (size_t)n);
    struct job_options options = { .stakes = true };
    assert_int_equal(record_read(&w->record, &w->source, &w->diag), 0);
    assert_int_equal(job_work(&w->job, &w->record, &options, &w->diag), 0);
    if (w->diag.n > 0)
        fail_msg("line %u: %s", w->diag.item[0].place.line, w->diag.item[0].text);
}

static void
release(struct worked *w)
{
    job_release(&w->job);
    record_release(&w->record);
    diag_release(&w->diag);
    free(w);
}

/* "A1 A2 A3 / B1 B2 B3": all rows with their points. */
static void
says(const char *points, const char *levels, const char *want)
{
    struct worked *w = calloc(1, sizeof *w);
    struct rows rows;
    char got[2000] = "";
    size_t used = 0;
    assert_non_null(w);
    work(w, points, levels);
    assert_int_equal(rows_open(&rows, &w->job), 0);
    for (size_t i = 0; i < rows.rows; i++) {
        const struct rows_row *row = &rows.row[i];
        used += (size_t)snprintf(got + used, sizeof got - used, "%s", i > 0 ? " /" : "");
        for (size_t k = row->first; k < row->first + row->count; k++) {
            used += (size_t)snprintf(got + used, sizeof got - used, "%s%s", used > 0 ? " " : "", names_text(&w->record.names, rows.point[k].name));
            assert_true(k == row->first || rows.point[k].along >= rows.point[k - 1].along);
        }
    }
    assert_string_equal(got, want);
    rows_release(&rows);
    release(w);
}

#define POSTS_READ(a, b, c, d) "    - {at: BM1, bs: 1.482}\n    - {at: " a ", on: post, is: 0.761}\n    - {at: " b ", on: post, is: 0.749}\n" \
    "    - {at: " c ", on: post, is: 0.752}\n    - {at: " d ", on: post, is: 0.768}\n    - {at: BM1, fs: 1.483}\n"

/* Walls by name, and those at the ends, whose posts have other letters; rows inside are crossed by none. */
static void
walls_are_rows(void **state)
{
    (void)state;
    says("  A1: {x: 0, y: 0, kind: post}\n  A2: {x: 2.4, y: 0.03, kind: post}\n  A10: {x: 4.8, y: 0, kind: post}\n"
         "  B1: {x: 0, y: 3, kind: post}\n  B2: {x: 2.4, y: 3, kind: post}\n  B10: {x: 4.8, y: 3, kind: post}\n",
        "    - {at: BM1, bs: 1.482}\n    - {at: A1, on: post, is: 0.761}\n    - {at: A10, on: ground, is: 0.749}\n    - {at: B1, on: hole, is: 1.752}\n"
        "    - {at: B2, on: post, is: 0.768}\n    - {at: BM1, fs: 1.483}\n",
        "A1 A2 A10 / B1 B2 B10 / A1 B1"); /* A10 to B10 has one elevation */
    /* six centimetres off is not in line: it is shown beside the others, and makes no second row of them */
    says("  A1: {x: 0, y: 0, kind: post}\n  A2: {x: 2.4, y: 0.06, kind: post}\n  A3: {x: 4.8, y: 0, kind: post}\n  A4: {x: 7.2, y: 0, kind: post}\n",
        POSTS_READ("A1", "A2", "A3", "A4"), "A1 A2 A3 A4");
    /* nor is what stands off by more than that a row with it */
    says("  A1: {x: 0, y: 0, kind: post}\n  A2: {x: 2.4, y: 0.7, kind: post}\n  A3: {x: 4.8, y: 0, kind: post}\n  A4: {x: 7.2, y: 0, kind: post}\n",
        POSTS_READ("A1", "A2", "A3", "A4"), "A1 A3 A4");
}

/* Numbered round the building: a corner ends one wall and begins the next; nothing is a row across the corner. */
static void
rows_turn_at_corners(void **state)
{
    (void)state;
    says("  P1: {x: 0, y: 0, kind: post}\n  P2: {x: 3, y: 0, kind: post}\n  P3: {x: 6, y: 0, kind: post}\n  P4: {x: 6, y: 2.5, kind: post}\n"
         "  P5: {x: 6, y: 5, kind: post}\n",
        POSTS_READ("P1", "P2", "P3", "P5"), "P1 P2 P3 / P3 P4 P5");
    /* a wall that runs askew is one by its name */
    says("  P1: {x: 0, y: 0, kind: post}\n  P2: {x: 3, y: 1, kind: post}\n  P3: {x: 6, y: 2, kind: post}\n  P4: {x: 9, y: 7, kind: post}\n",
        POSTS_READ("P1", "P2", "P3", "P4"), "P1 P2 P3");
}

/* Battens two at each corner: each carries one string, the one that runs along the posts, and these are shown with it; of
 * corners those that were read. */
static void
strings_run_along_the_posts(void **state)
{
    (void)state;
    says("  P1: {x: 0, y: 0, kind: post}\n  P2: {x: 8, y: 0, kind: post}\n  P3: {x: 0, y: 5, kind: post}\n  P4: {x: 8, y: 5, kind: post}\n"
         "  SW1: {x: -1.2, y: -0.14, kind: batten}\n  SE1: {x: 9.2, y: -0.14, kind: batten}\n"
         "  SW2: {x: -0.14, y: -1.2, kind: batten}\n  NW2: {x: -0.14, y: 6.2, kind: batten}\n  SE2: {x: 8.14, y: -1.2, kind: batten}\n"
         "  G1: {x: 4, y: 0.3, kind: ground}\n  G2: {x: 4, y: 2, kind: ground}\n"
         "  SW: {x: 0, y: -0.05, kind: corner}\n  SE: {x: 8, y: -0.05, kind: corner}\n",
        "    - {at: BM1, bs: 1.482}\n    - {at: SW1, on: batten, is: 0.761}\n    - {at: SE1, on: batten, is: 0.749}\n"
        "    - {at: SW2, on: batten, is: 0.761}\n    - {at: NW2, on: batten, is: 0.749}\n    - {at: P3, on: post, is: 0.752}\n"
        "    - {at: P4, on: ground, is: 0.768}\n    - {at: SE, on: mark, is: 1.268}\n    - {at: BM1, fs: 1.483}\n",
        "SW1 P1 G1 P2 SE SE1 / P3 P4 / SW2 P1 P3 NW2 / SE P2 P4");
}

/* Ground shots of one name in line, three or more; and rows with less than two elevations are none. */
static void
ground_in_line_is_a_row(void **state)
{
    (void)state;
    says("  K1: {x: 0, y: 1, kind: ground}\n  K2: {x: 4, y: 1, kind: ground}\n  K3: {x: 8, y: 1, kind: ground}\n  K4: {x: 0, y: 4, kind: ground}\n"
         "  K5: {x: 4, y: 4, kind: ground}\n  P1: {x: 0, y: 9, kind: post}\n  P2: {x: 4, y: 9, kind: post}\n",
        "    - {at: BM1, bs: 1.482}\n    - {at: K1, on: ground, is: 1.161}\n    - {at: K3, on: ground, is: 1.149}\n    - {at: P1, on: post, is: 0.752}\n"
        "    - {at: K4, on: ground, is: 1.168}\n    - {at: K5, on: ground, is: 1.168}\n    - {at: BM1, fs: 1.483}\n",
        "K1 K2 K3");
}

/* Distances, elevations and the grade at each point are those of the job. */
static void
rows_carry_what_the_job_has(void **state)
{
    struct worked *w = calloc(1, sizeof *w);
    struct rows rows;
    (void)state;
    assert_non_null(w);
    work(w, "  A1: {x: 1.5, y: 2, kind: post}\n  A2: {x: 4, y: 2, kind: post}\n  A3: {x: 9.25, y: 2, kind: post}\n",
        "    - {at: BM1, bs: 1.482}\n    - {at: A1, on: post, is: 0.761}\n    - {at: A3, on: hole, is: 1.749}\n    - {at: BM1, fs: 1.482}\n");
    assert_int_equal(rows_open(&rows, &w->job), 0);
    assert_int_equal(rows.rows, 1);
    assert_true(rows.row[0].posts && !rows.row[0].battens);
    static const length along[] = { 0, 2500 * LENGTH_MM, 7750 * LENGTH_MM }, grade[] = { 49085 * LENGTH_MM, 49060 * LENGTH_MM, 49007500000 };
    assert_int_equal(rows.row[0].grades, 1);
    for (size_t i = 0; i < 3; i++) {
        assert_same(rows.point[i].along, along[i]);
        assert_true(rows.known[rows.grade[0].first + i]);
        assert_same(rows.level[rows.grade[0].first + i], grade[i]);
    }
    assert_same(w->job.level_spot[rows.point[0].spot[RECORD_ON_POST]].value, 49096 * LENGTH_MM);
    assert_same(w->job.level_spot[rows.point[2].spot[RECORD_ON_HOLE]].value, 48108 * LENGTH_MM);
    assert_int_equal(rows.point[0].spot[RECORD_ON_GROUND], JOB_NONE);
    rows_release(&rows);
    release(w);
}

/* ---- courses ---- */

static void
courses_go_by_length_or_by_step(void **state)
{
    struct worked *w = calloc(1, sizeof *w);
    struct course c;
    (void)state;
    assert_non_null(w);
    work(w, "  A1: {x: 0, y: 0, kind: post}\n", "    - {at: BM1, bs: 1.482, bs-dist: 31}\n    - {at: A1, on: post, is: 0.761}\n"
        "    - {at: TP1, fs: 0.884, bs: 1.266, fs-dist: 28.5, bs-dist: 17}\n    - {at: BM1, fs: 1.866, fs-dist: 19}\n");
    assert_int_equal(course_open(&c, &w->job, 0), 0);
    assert_true(c.by_dist && c.legs == 2 && c.sides == 1 && c.adrift == 0);
    assert_false(c.leg[0].joins);
    assert_true(c.leg[1].joins && c.leg[1].has_hi && c.leg[1].has_to);
    assert_same(c.leg[0].instrument, 31 * LENGTH_M);
    assert_same(c.leg[0].end, 59500 * LENGTH_MM);
    assert_same(c.leg[1].instrument, 76500 * LENGTH_MM);
    assert_same(c.leg[1].end, 95500 * LENGTH_MM);
    assert_same(c.leg[0].from, 48375 * LENGTH_MM);
    assert_same(c.leg[0].hi, 49857 * LENGTH_MM);
    assert_same(c.leg[0].to, 48973 * LENGTH_MM);
    assert_same(c.leg[1].to, 48373 * LENGTH_MM); /* as carried: the misclosure is in it */
    assert_same(c.side[0].elevation, 49096 * LENGTH_MM);
    course_release(&c);
    release(w);
    w = calloc(1, sizeof *w);
    assert_non_null(w);
    work(w, "  A1: {x: 0, y: 0, kind: post}\n", "    - {at: BM1, bs: 1.482, bs-dist: 31}\n"
        "    - {at: TP1, fs: 0.884, bs: 1.266, bs-dist: 17}\n    - {at: BM1, fs: 1.866, fs-dist: 19}\n    - {at: BM1, bs: 1.212}\n"
        "    - {at: A1, on: post, is: 0.761}\n");
    assert_int_equal(course_open(&c, &w->job, 0), 0);
    assert_true(!c.by_dist && c.legs == 3);
    assert_same(c.leg[1].instrument, COURSE_STEP + COURSE_STEP / 2);
    assert_true(c.leg[2].joins && c.leg[2].has_from && !c.leg[2].has_to); /* it stands open */
    course_release(&c);
    release(w);
}

/* Outside first, then the nearest to its limit; spurs are no lines. */
static void
lines_that_need_a_look_come_first(void **state)
{
    struct worked *w = calloc(1, sizeof *w);
    uint32_t line[16];
    (void)state;
    assert_non_null(w);
    int n = snprintf(w->bytes, sizeof w->bytes, "---\njob: Lines\nunit: m\nleast: 0.001\nallow: {misclosure: 4 mm, per: root-setup}\n---\n"
        "marks:\n  BM1: {elevation: 48.375}\n");
    for (int k = 0; k < 4; k++) /* misclosures 1, -9, 3 and none: a spur */
        n += snprintf(w->bytes + n, sizeof w->bytes - (size_t)n, "---\nlevels:\n  readings:\n    - {at: BM1, bs: 1.482}\n    - {at: T%d, fs: 0.884%s\n%s"
            "by: RO\ntime: 2026-05-02T09:00:00Z\n", k, k < 3 ? ", bs: 1.266}" : "}",
            k == 0 ? "    - {at: BM1, fs: 1.863}\n" : k == 1 ? "    - {at: BM1, fs: 1.873}\n" : k == 2 ? "    - {at: BM1, fs: 1.861}\n" : "");
    w->source = source_of_bytes(w->bytes, (size_t)n);
    assert_int_equal(record_read(&w->record, &w->source, &w->diag), 0);
    assert_int_equal(job_work(&w->job, &w->record, &(struct job_options){ 0 }, &w->diag), 0);
    assert_int_equal(w->diag.errors, 0);
    assert_true(w->job.work.links <= 16);
    assert_int_equal(course_lines(&w->job, line), 3);
    static const length misclosure[] = { -9 * LENGTH_MM, 3 * LENGTH_MM, 1 * LENGTH_MM };
    for (size_t i = 0; i < 3; i++)
        assert_same(w->job.work.link[line[i]].misclosure, misclosure[i]);
    release(w);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(walls_are_rows),
        cmocka_unit_test(rows_turn_at_corners),
        cmocka_unit_test(strings_run_along_the_posts),
        cmocka_unit_test(ground_in_line_is_a_row),
        cmocka_unit_test(rows_carry_what_the_job_has),
        cmocka_unit_test(courses_go_by_length_or_by_step),
        cmocka_unit_test(lines_that_need_a_look_come_first),
    };
    return cmocka_run_group_tests_name("rows", tests, NULL, NULL);
}
