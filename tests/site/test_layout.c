/*
 * test_layout.c - a building set out: published figures, hard cases, and laws over random buildings
 *
 * SITES=100000 in the environment holds more buildings than are quick.
 */
#include "near.h"

#include "rodbook/layout.h"

#include <stdlib.h>
#include <string.h>

#define IN LENGTH_IN
#define FT LENGTH_FT
#define COUNT(list) (sizeof(list) / sizeof *(list))
#define ROOM 400

static const struct site_building shed = { 24 * FT, 12 * FT, 11 * IN / 2, 11 * IN / 2, 3 * IN / 2, 11 * IN / 2, 4 * FT };

static struct site_place
at(length x, length y)
{
    return (struct site_place){ x, y };
}

/* ---- distances ---- */

static void
distances_are_rounded_once(void **state)
{
    (void)state;
    assert_same(site_layout_distance(at(0, 0), at(3 * FT, 4 * FT)), 5 * FT);
    assert_same(site_layout_distance(at(1, 1), at(2, 2)), 1);           /* root 2: 1.414 */
    assert_same(site_layout_distance(at(0, 0), at(1, 3)), 3);           /* root 10: 3.162 */
    assert_same(site_layout_distance(at(0, 0), at(2, 3)), 4);           /* root 13: 3.606 */
    assert_same(site_layout_distance(at(0, 0), at(0, 0)), 0);
    /* 3 k and 4 k near 1e15: a double holds neither square */
    length k = INT64_C(199999999999999);
    assert_same(site_layout_distance(at(-k, 2 * k), at(2 * k, -2 * k)), 5 * k);
    /* n and 1: root (n^2 + 1) rounds to n */
    assert_same(site_layout_distance(at(0, 0), at(999999999999989, 1)), 999999999999989);
}

/* Own exact arithmetic for the diagonals that a trade table prints to 1/100 in and 0.0001 ft. */
static void
diagonals_of_usual_frames(void **state)
{
    static const struct {
        int along, across;
        double feet, inches;
    } frame[] = { { 24, 12, 26.8328, 9.99 }, { 30, 20, 36.0555, 0.67 }, { 48, 24, 53.6656, 7.99 }, { 96, 30, 100.5783, 6.94 } };
    (void)state;
    for (size_t i = 0; i < COUNT(frame); i++) {
        struct site_building b = shed;
        b.along = frame[i].along * FT;
        b.across = frame[i].across * FT;
        length d = site_layout_outline(&b, SITE_OF_FOOTPRINT).diagonal;
        assert_near((double)d / FT, frame[i].feet, 0.00005);
        assert_near((double)(d % FT) / IN, frame[i].inches, 0.005);
    }
}

/* ---- rectangles, strings, battens ---- */

/*
 * Girts of 1-1/2 in outside the posts: a plan of 30 x 40 ft has its posts' faces at 29 ft 9 in x 39 ft 9 in. Several
 * post-frame trade pages (layout practice; arithmetic followed).
 */
static void
nailed_outside_brings_the_faces_in(void **state)
{
    struct site_building b = { 40 * FT, 30 * FT, 11 * IN / 2, 11 * IN / 2, 3 * IN / 2, 0, 4 * FT };
    struct site_outline faces = site_layout_outline(&b, SITE_OF_POSTS), strings = site_layout_outline(&b, SITE_OF_STRINGS);
    (void)state;
    assert_same(faces.along, 39 * FT + 9 * IN);
    assert_same(faces.across, 29 * FT + 9 * IN);
    assert_same(strings.along, faces.along); /* string: 0 touches the faces */
    assert_same(strings.corner[SITE_OPPOSITE].x, faces.corner[SITE_OPPOSITE].x);
    b.string = 11 * IN / 2;
    strings = site_layout_outline(&b, SITE_OF_STRINGS);
    assert_same(strings.along, 40 * FT + 8 * IN); /* one post width outside them: 2 x (5-1/2 - 1-1/2) */
    assert_same(strings.corner[SITE_FIRST].y, -4 * IN);
}

static void
battens_carry_the_strings(void **state)
{
    static const struct {
        length x, y;
        enum site_side side;
        uint32_t facing;
    } want[SITE_BATTENS] = { { -4 * FT, -4 * IN, SITE_FRONT, 6 }, { -4 * IN, -4 * FT, SITE_START, 3 },
        { 28 * FT, -4 * IN, SITE_FRONT, 4 }, { 24 * FT + 4 * IN, -4 * FT, SITE_END, 1 },
        { 28 * FT, 12 * FT + 4 * IN, SITE_BACK, 2 }, { 24 * FT + 4 * IN, 16 * FT, SITE_END, 7 },
        { -4 * FT, 12 * FT + 4 * IN, SITE_BACK, 0 }, { -4 * IN, 16 * FT, SITE_START, 5 } };
    struct site_batten got[SITE_BATTENS];
    (void)state;
    site_layout_battens(&shed, got);
    for (size_t i = 0; i < SITE_BATTENS; i++) {
        assert_same(got[i].at.x, want[i].x);
        assert_same(got[i].at.y, want[i].y);
        assert_int_equal(got[i].side, want[i].side);
        assert_int_equal(got[i].facing, want[i].facing);
        assert_int_equal(got[i].corner, i / 2);
        assert_same(got[i].face, -3 * IN / 2);
        assert_same(got[i].string, 4 * IN);
        assert_same(got[i].beyond, 3 * FT + 8 * IN);
        assert_same(got[i].apart, i % 2 ? 24 * FT + 8 * IN : 12 * FT + 8 * IN);
        assert_same(got[i].apart_footprint, i % 2 ? 24 * FT : 12 * FT);
    }
}

static void
what_does_not_go_together(void **state)
{
    struct site_building b = shed;
    (void)state;
    assert_int_equal(site_layout_fits(&b), SITE_LAYOUT_OK);
    b.across = 2 * (b.nailed + b.post_across);
    assert_int_equal(site_layout_fits(&b), SITE_LAYOUT_OK); /* two posts, face on face */
    b.across--;
    assert_int_equal(site_layout_fits(&b), SITE_LAYOUT_ESMALL);
    b = shed;
    b.string = b.set_back + b.nailed - 1;
    assert_int_equal(site_layout_fits(&b), SITE_LAYOUT_OK);
    b.string++;
    assert_int_equal(site_layout_fits(&b), SITE_LAYOUT_ESTRING);
    b = shed;
    b.along = SITE_BUILDING_MOST + 1;
    assert_int_equal(site_layout_fits(&b), SITE_LAYOUT_ELARGE);
    b = shed;
    b.nailed = LENGTH_MOST;
    assert_int_equal(site_layout_fits(&b), SITE_LAYOUT_ESMALL);
}

static void
outside_is_measured_from_the_nearest_line(void **state)
{
    (void)state;
    assert_same(site_layout_outside(&shed, at(-4 * FT, 6 * FT)), 4 * FT);
    assert_same(site_layout_outside(&shed, at(12 * FT, 15 * FT)), 3 * FT);
    assert_same(site_layout_outside(&shed, at(27 * FT, 16 * FT)), 5 * FT); /* 3 and 4 */
    assert_same(site_layout_outside(&shed, at(24 * FT, 12 * FT)), 0);
    assert_same(site_layout_outside(&shed, at(1 * FT, 1 * FT)), 0);
}

/* ---- rows ---- */

static size_t
posts_of(const struct site_building *b, const struct site_row *row, const struct site_door *door, size_t doors, struct site_layout_post *post)
{
    size_t n = 0;
    struct site_layout_fault fault = { 0 };
    assert_true(site_layout_room(b, row, doors) <= ROOM);
    assert_int_equal(site_layout_row(b, row, 0, door, doors, post, &n, &fault), SITE_LAYOUT_OK);
    assert_true(n <= site_layout_room(b, row, doors));
    return n;
}

/* Bays of 8 and 9 ft, 1-1/2 in nailed outside: first bays of 7 ft 10-1/2 in and 8 ft 10-1/2 in, outer face to centre. */
static void
corner_bays_are_short_by_what_is_nailed(void **state)
{
    struct site_building b = { 72 * FT, 30 * FT, 11 * IN / 2, 11 * IN / 2, 3 * IN / 2, 0, 4 * FT };
    struct site_layout_post post[ROOM];
    struct site_mark mark[ROOM];
    (void)state;
    for (int bay = 8; bay <= 9; bay++) {
        struct site_row row = { SITE_FRONT, 0, bay * FT, NULL, 0 };
        size_t n = posts_of(&b, &row, NULL, 0, post);
        assert_int_equal(n, 72 / bay + 1);
        assert_int_equal(site_layout_marks(&b, SITE_FRONT, 0, &row, NULL, post, n, mark), n);
        assert_same(mark[1].mark - mark[0].mark, bay * FT - 3 * IN / 2);
        assert_same(mark[2].mark - mark[1].mark, bay * FT);
        assert_same(mark[n - 1].mark - mark[n - 2].mark, bay * FT - 3 * IN / 2);
        assert_same(mark[0].mark, 0); /* the string crosses at the corner post's outer face */
        assert_int_equal(mark[0].to, SITE_TO_OUTSIDE);
        assert_int_equal(mark[1].to, SITE_TO_CENTRE);
        assert_int_equal(mark[n - 1].to, SITE_TO_OUTSIDE);
    }
}

static void
each_wall_has_its_side(void **state)
{
    struct site_building b = shed;
    const length middle[] = { 6 * FT };
    struct site_layout_post post[ROOM];
    static const struct {
        enum site_side side;
        double x, y; /* inches, of the low face */
    } want[] = { { SITE_FRONT, 72 - 2.75, 1.5 }, { SITE_BACK, 72 - 2.75, 144 - 1.5 - 7.5 }, { SITE_START, 1.5, 72 - 3.75 },
        { SITE_END, 288 - 1.5 - 5.5, 72 - 3.75 }, { SITE_INSIDE, 72 - 2.75, 60 - 3.75 } };
    (void)state;
    b.post_across = 15 * IN / 2;
    for (size_t i = 0; i < COUNT(want); i++) {
        struct site_row row = { want[i].side, 5 * FT, 0, middle, 1 };
        assert_int_equal(posts_of(&b, &row, NULL, 0, post), 1);
        assert_near((double)post[0].low.x / IN, want[i].x, 0);
        assert_near((double)post[0].low.y / IN, want[i].y, 0);
        assert_same(post[0].centre.x - post[0].low.x, 11 * IN / 4);
        assert_same(post[0].centre.y - post[0].low.y, 15 * IN / 4);
    }
}

/* A list with 0 and the whole length is what a spacing makes; a post of an odd thickness still has its outer faces exact. */
static void
a_list_is_as_good_as_a_spacing(void **state)
{
    struct site_building b = shed;
    const length places[] = { 0, 6 * FT, 12 * FT, 18 * FT, 24 * FT };
    struct site_row spaced = { SITE_BACK, 0, 6 * FT, NULL, 0 }, listed = { SITE_BACK, 0, 0, places, 5 };
    struct site_layout_post one[ROOM], other[ROOM];
    (void)state;
    b.post_along = 11 * IN / 2 + 1;
    assert_int_equal(posts_of(&b, &spaced, NULL, 0, one), 5);
    assert_int_equal(posts_of(&b, &listed, NULL, 0, other), 5);
    for (size_t i = 0; i < 5; i++) {
        assert_same(one[i].low.x, other[i].low.x);
        assert_same(one[i].low.y, other[i].low.y);
    }
    assert_same(one[4].low.x + b.post_along, 24 * FT - b.nailed);
}

static void
posts_at_a_door(void **state)
{
    const length places[] = { 4 * FT, 8 * FT };
    struct site_row row = { SITE_START, 0, 0, places, 2 };
    struct site_door door = { 0, 4 * FT, 8 * FT };
    struct site_layout_post post[ROOM];
    struct site_mark mark[ROOM];
    uint32_t beside[2];
    (void)state;
    assert_int_equal(posts_of(&shed, &row, &door, 1, post), 2); /* both listed stand half in the opening */
    assert_same(post[0].low.y + shed.post_across, 4 * FT);
    assert_same(post[1].low.y, 8 * FT);
    assert_int_equal(site_layout_marks(&shed, SITE_START, 0, &row, &door, post, 2, mark), 2);
    assert_int_equal(mark[0].to, SITE_TO_INSIDE);
    assert_same(mark[0].mark, 4 * FT + 4 * IN);
    assert_same(mark[0].mark, mark[0].far);
    assert_same(mark[1].mark, 8 * FT + 4 * IN);
    assert_same(mark[1].mark, mark[1].near);
    site_layout_door_posts(&shed, &row, &door, post, 2, beside);
    assert_int_equal(beside[0], 0);
    assert_int_equal(beside[1], 1);
    /* a post whose face is on the opening already is the door post, and is not set twice */
    const length there[] = { 4 * FT - 11 * IN / 4, 10 * FT };
    struct site_row other = { SITE_START, 0, 0, there, 2 };
    assert_int_equal(posts_of(&shed, &other, &door, 1, post), 3);
    assert_int_equal(post[0].door, 0);
    assert_int_equal(post[1].door, 0);
    assert_int_equal(post[2].door, SITE_NONE);
    /* two openings share the post between them */
    struct site_door two[] = { { 0, 2 * FT, 5 * FT }, { 0, 5 * FT + 11 * IN / 2, 9 * FT } };
    struct site_row empty = { SITE_START, 0, 0, NULL, 0 };
    assert_int_equal(posts_of(&shed, &empty, two, 2, post), 3);
    /* an opening of another row is no matter of this one */
    struct site_door elsewhere = { 3, 1 * FT, 9 * FT };
    assert_int_equal(posts_of(&shed, &row, &elsewhere, 1, post), 2);
    assert_same(post[0].centre.y, 4 * FT);
}

/* An opening beside the corner: the long wall's corner post is the door post. */
static void
a_corner_post_may_be_the_door_post(void **state)
{
    struct site_row row[] = { { SITE_FRONT, 0, 6 * FT, NULL, 0 }, { SITE_START, 0, 0, NULL, 0 } };
    struct site_door door = { 1, 7 * IN, 4 * FT }; /* 1-1/2 + 5-1/2 */
    struct site_layout_post post[ROOM];
    struct site_mark mark[ROOM];
    struct site_layout_fault fault;
    uint32_t beside[2];
    size_t n, m;
    (void)state;
    assert_int_equal(site_layout_row(&shed, &row[0], 0, &door, 1, post, &n, &fault), SITE_LAYOUT_OK);
    assert_int_equal(site_layout_row(&shed, &row[1], 1, &door, 1, post + n, &m, &fault), SITE_LAYOUT_OK);
    assert_int_equal(m, 2);
    n = site_layout_settle(post, n + m);
    assert_int_equal(n, 6);
    assert_int_equal(post[5].row, 1);
    assert_same(post[5].low.y, 4 * FT);
    site_layout_door_posts(&shed, &row[1], &door, post, n, beside);
    assert_int_equal(beside[0], 0);
    assert_int_equal(beside[1], 5);
    size_t other;
    assert_int_equal(site_layout_overlap(&shed, post, n, 0, &other), n);
    assert_int_equal(site_layout_marks(&shed, SITE_START, 1, row, &door, post, n, mark), 2);
    assert_int_equal(mark[0].to, SITE_TO_OUTSIDE); /* the corner post */
    assert_int_equal(mark[1].to, SITE_TO_INSIDE);
    door.from--;
    assert_int_equal(site_layout_row(&shed, &row[1], 1, &door, 1, post, &n, &fault), SITE_LAYOUT_EDOOR);
}

/* Failures leave everything but the fault alone. */
static void
refuses(const struct site_row *row, const struct site_door *door, size_t doors, enum site_layout_status status, length value,
    uint32_t which)
{
    struct site_layout_fault fault = { 77, 77, 77 };
    size_t n = 77;
    struct site_layout_post post[ROOM];
    assert_int_equal(site_layout_row(&shed, row, 0, door, doors, post, &n, &fault), status);
    assert_same(n, 77);
    assert_same(fault.value, value);
    assert_int_equal(fault.which, which);
}

static void
rows_that_do_not_fit(void **state)
{
    const length back[] = { 4 * FT, 8 * FT, 6 * FT }, twice[] = { 4 * FT, 4 * FT }, beyond[] = { 4 * FT, 13 * FT },
                 near[] = { 0, 8 * IN }, corner[] = { 4 * IN }, below[] = { -1 };
    (void)state;
    refuses(&(struct site_row){ SITE_FRONT, 0, 5 * FT, NULL, 0 }, NULL, 0, SITE_LAYOUT_EREMAINDER, 4 * FT, 0);
    refuses(&(struct site_row){ SITE_FRONT, 0, 30 * FT, NULL, 0 }, NULL, 0, SITE_LAYOUT_EREMAINDER, 24 * FT, 0);
    refuses(&(struct site_row){ SITE_FRONT, 0, 6 * IN, NULL, 0 }, NULL, 0, SITE_LAYOUT_EBAY, 6 * IN, 1); /* 7 in of corner, 2-3/4 to the face */
    refuses(&(struct site_row){ SITE_FRONT, 0, 4 * IN, NULL, 0 }, NULL, 0, SITE_LAYOUT_EBAY, 4 * IN, 1);
    refuses(&(struct site_row){ SITE_START, 0, 0, back, 3 }, NULL, 0, SITE_LAYOUT_EORDER, 6 * FT, 2);
    refuses(&(struct site_row){ SITE_START, 0, 0, twice, 2 }, NULL, 0, SITE_LAYOUT_EORDER, 4 * FT, 1);
    refuses(&(struct site_row){ SITE_START, 0, 0, beyond, 2 }, NULL, 0, SITE_LAYOUT_EPLACE, 13 * FT, 1);
    refuses(&(struct site_row){ SITE_START, 0, 0, near, 2 }, NULL, 0, SITE_LAYOUT_EBAY, 8 * IN, 1);
    refuses(&(struct site_row){ SITE_START, 0, 0, corner, 1 }, NULL, 0, SITE_LAYOUT_EPLACE, 4 * IN, 0);
    refuses(&(struct site_row){ SITE_START, 0, 0, below, 1 }, NULL, 0, SITE_LAYOUT_EPLACE, -1, 0);
    refuses(&(struct site_row){ SITE_INSIDE, 4 * IN, 6 * FT, NULL, 0 }, NULL, 0, SITE_LAYOUT_EPLACE, 4 * IN, SITE_NONE);
    refuses(&(struct site_row){ SITE_INSIDE, 12 * FT, 6 * FT, NULL, 0 }, NULL, 0, SITE_LAYOUT_EPLACE, 12 * FT, SITE_NONE);
    struct site_row front = { SITE_FRONT, 0, 6 * FT, NULL, 0 };
    struct site_door wrong[] = { { 1, 0, FT }, { 0, 4 * FT, 4 * FT } }, end = { 0, 21 * FT, 24 * FT - 7 * IN + 1 };
    refuses(&front, wrong, 2, SITE_LAYOUT_EDOOR, 0, 1);
    refuses(&front, &end, 1, SITE_LAYOUT_EDOOR, 0, 0);
    struct site_door close[] = { { 0, 8 * FT, 10 * FT }, { 0, 4 * FT, 8 * FT - 11 * IN / 2 + 1 } };
    refuses(&front, close, 2, SITE_LAYOUT_EDOORS, 0, 1);
    struct site_row many = { SITE_FRONT, 0, 24 * FT / 10000, NULL, 0 };
    refuses(&many, NULL, 0, SITE_LAYOUT_EMANY, 77, 77);
}

static void
posts_in_one_another_are_found(void **state)
{
    struct site_layout_post post[] = { { .low = { 0, 0 } }, { .low = { 11 * IN / 2, 0 } }, { .low = { 11 * IN - 1, 11 * IN / 2 - 1 } },
        { .low = { 40 * IN, 0 } }, { .low = { 40 * IN - 11 * IN / 2 + 1, 1 - 11 * IN / 2 } } };
    size_t other = 77;
    (void)state;
    assert_int_equal(site_layout_overlap(&shed, post, 2, 0, &other), 2); /* face on face */
    assert_int_equal(other, 77);
    assert_int_equal(site_layout_overlap(&shed, post, 5, 0, &other), 2);
    assert_int_equal(other, 1);
    assert_int_equal(site_layout_overlap(&shed, post, 5, 3, &other), 4);
    assert_int_equal(other, 3);
    assert_int_equal(site_layout_overlap(&shed, post, 5, 5, &other), 5);
    struct site_building oblong = shed;
    oblong.post_across = 7 * IN;
    struct site_layout_post pair[] = { { .low = { 0, 0 } }, { .low = { 0, 6 * IN } }, { .low = { 6 * IN, 0 } } };
    assert_int_equal(site_layout_overlap(&oblong, pair, 3, 0, &other), 1); /* 7 in deep, 5-1/2 in wide */
    assert_int_equal(site_layout_overlap(&oblong, pair, 3, 2, &other), 3);
}

/* The corner post of a row inside that is a door post there: on the wall's string it is a post as any. */
static void
a_door_inside_is_no_door_of_the_wall(void **state)
{
    struct site_row row = { SITE_INSIDE, 6 * FT, 6 * FT, NULL, 0 };
    struct site_door door = { 0, 7 * IN, 3 * FT };
    struct site_layout_post post[ROOM];
    struct site_mark mark[ROOM];
    size_t n = posts_of(&shed, &row, &door, 1, post);
    (void)state;
    assert_int_equal(n, 6);
    assert_int_equal(post[0].door, 0);
    assert_int_equal(site_layout_marks(&shed, SITE_START, SITE_NONE, &row, &door, post, n, mark), 1);
    assert_int_equal(mark[0].to, SITE_TO_CENTRE);
    assert_same(mark[0].mark, 6 * FT + 4 * IN);
    assert_int_equal(site_layout_marks(&shed, SITE_INSIDE, 0, &row, &door, post, n, mark), 6);
    assert_int_equal(mark[0].to, SITE_TO_OUTSIDE);
    assert_int_equal(mark[1].to, SITE_TO_INSIDE);
}

/* ---- the check triangle ---- */

/* 3-4-5, 6-8-10, 9-12-15 in feet: NAVEDTRA 14069; 300-400-500 mm and its multiples, 1500 and 2000 give 2500: CMHC. */
static void
the_largest_triangle_that_fits(void **state)
{
    static const struct {
        length along, across, step, a, b, c;
    } want[] = { { 4 * FT, 3 * FT, FT, 4 * FT, 3 * FT, 5 * FT }, { 3 * FT, 4 * FT, FT, 3 * FT, 4 * FT, 5 * FT },
        { 11 * FT, 7 * FT, FT, 8 * FT, 6 * FT, 10 * FT }, { 24 * FT, 12 * FT, FT, 16 * FT, 12 * FT, 20 * FT },
        { 12 * FT, 12 * FT, FT, 12 * FT, 9 * FT, 15 * FT }, { 9 * FT, 40 * FT, FT, 9 * FT, 12 * FT, 15 * FT },
        { 2000 * LENGTH_MM, 1500 * LENGTH_MM, 100 * LENGTH_MM, 2000 * LENGTH_MM, 1500 * LENGTH_MM, 2500 * LENGTH_MM },
        { 7200 * LENGTH_MM, 3600 * LENGTH_MM, 100 * LENGTH_MM, 4800 * LENGTH_MM, 3600 * LENGTH_MM, 6000 * LENGTH_MM } };
    struct site_check_triangle t = { 7, 7, 7 };
    (void)state;
    assert_false(site_layout_triangle(4 * FT - 1, 3 * FT, FT, &t));
    assert_same(t.between, 7);
    for (size_t i = 0; i < COUNT(want); i++) {
        assert_true(site_layout_triangle(want[i].along, want[i].across, want[i].step, &t));
        assert_same(t.along, want[i].a);
        assert_same(t.across, want[i].b);
        assert_same(t.between, want[i].c);
        assert_same(site_layout_distance(at(t.along, 0), at(0, t.across)), t.between);
    }
}

/* ---- laws over random buildings ---- */

static uint64_t chance_state;

/* Knuth's MMIX generator: TAOCP 2, 3rd ed., 3.3.4, table 1, line 26. */
static length
draw(length below)
{
    chance_state = chance_state * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
    return (length)((chance_state >> 20) % (uint64_t)below);
}

struct random_site {
    struct site_building b;
    struct site_row row[4];
    length list[20];
    struct site_door door[1];
    size_t rows, doors, bays;
};

/* Long walls by spacing, a start wall by a list with a door in it, sometimes a row inside; odd nanometres throughout. */
static void
make_site(struct random_site *s)
{
    struct site_building *b = &s->b;
    length post = 50 * LENGTH_MM + draw(150 * LENGTH_MM);
    s->bays = 2 + (size_t)draw(8);
    length bay = LENGTH_M + draw(3 * LENGTH_M);
    *b = (struct site_building){ (length)s->bays * bay, 4 * LENGTH_M + draw(6 * LENGTH_M), post, 50 * LENGTH_MM + draw(150 * LENGTH_MM),
        draw(60 * LENGTH_MM), draw(250 * LENGTH_MM), LENGTH_M + draw(LENGTH_M) };
    s->row[0] = (struct site_row){ SITE_FRONT, 0, bay, NULL, 0 };
    s->row[1] = (struct site_row){ SITE_BACK, 0, bay, NULL, 0 };
    s->list[0] = b->across / 4;
    s->list[1] = b->across * 3 / 4;
    s->row[2] = (struct site_row){ SITE_START, 0, 0, s->list, 2 };
    s->door[0] = (struct site_door){ 2, b->across * 2 / 5, b->across * 3 / 5 };
    s->doors = (size_t)draw(2);
    s->list[2] = bay;
    s->row[3] = (struct site_row){ SITE_INSIDE, b->across / 2 + draw(100 * LENGTH_MM), 0, s->list + 2, 1 };
    s->rows = 4;
}

static size_t
set_posts(const struct site_building *b, const struct site_row *row, size_t rows, const struct site_door *door, size_t doors,
    struct site_layout_post *post)
{
    size_t n = 0, other;
    for (uint32_t i = 0; i < rows; i++) {
        struct site_layout_fault fault;
        size_t made;
        assert_true(n + site_layout_room(b, &row[i], doors) <= ROOM);
        assert_int_equal(site_layout_row(b, &row[i], i, door, doors, post + n, &made, &fault), SITE_LAYOUT_OK);
        n += made;
    }
    assert_int_equal(site_layout_settle(post, n), n);
    assert_int_equal(site_layout_overlap(b, post, n, 0, &other), n);
    return n;
}

static void
hold_lengths(const struct random_site *s)
{
    const struct site_building *b = &s->b;
    struct site_batten batten[SITE_BATTENS];
    for (int i = 0; i < SITE_OUTLINES; i++) {
        struct site_outline r = site_layout_outline(b, (enum site_outline_of)i);
        assert_same(site_layout_distance(r.corner[0], r.corner[1]), r.along);
        assert_same(site_layout_distance(r.corner[3], r.corner[2]), r.along);
        assert_same(site_layout_distance(r.corner[1], r.corner[2]), r.across);
        assert_same(site_layout_distance(r.corner[0], r.corner[3]), r.across);
        assert_same(site_layout_distance(r.corner[1], r.corner[3]), r.diagonal);
        assert_near((double)r.diagonal, hypot((double)r.along, (double)r.across), 0.51);
    }
    site_layout_battens(b, batten);
    struct site_outline cross = site_layout_outline(b, SITE_OF_STRINGS);
    for (size_t i = 0; i < SITE_BATTENS; i++) {
        const struct site_batten *one = &batten[i], *other = &batten[one->facing];
        assert_true(site_layout_outside(b, one->at) >= b->set_back);
        assert_same(site_layout_distance(one->at, other->at), one->apart);
        assert_same(site_layout_distance(one->at, cross.corner[one->corner]), one->beyond);
        assert_int_equal(other->facing, i);
        assert_same(one->apart, one->apart_footprint + 2 * one->string);
        struct site_string string = site_layout_string(b, one->side, 0);
        assert_true(i % 2 ? one->at.x == string.from.x : one->at.y == string.from.y);
    }
}

/* Marks are distances along the string to where posts stand; in order, and from end to end they sum. */
static void
hold_string(const struct random_site *s, enum site_side side, const struct site_layout_post *post, size_t n)
{
    struct site_mark mark[ROOM];
    struct site_string string = site_layout_string(&s->b, side, s->row[3].in);
    bool across = side == SITE_START || side == SITE_END;
    size_t count = site_layout_marks(&s->b, side, 3, s->row, s->door, post, n, mark);
    length sum = 0, before = 0;
    assert_same(site_layout_distance(string.from, string.to), string.size);
    for (size_t i = 0; i < count; i++) {
        const struct site_layout_post *p = &post[mark[i].post];
        struct site_place foot = across ? at(string.from.x, p->centre.y) : at(p->centre.x, string.from.y);
        length thick = across ? s->b.post_across : s->b.post_along;
        assert_same(site_layout_distance(string.from, foot), mark[i].centre);
        assert_same(mark[i].far - mark[i].near, thick);
        assert_true(mark[i].mark > before || i == 0);
        length off = across ? (side == SITE_START ? p->low.x - string.from.x : string.from.x - p->low.x - s->b.post_along)
                            : (side == SITE_BACK ? string.from.y - p->low.y - s->b.post_across : p->low.y - string.from.y);
        assert_same(off, s->b.string); /* every post's face, from its string */
        sum += mark[i].mark - before;
        before = mark[i].mark;
    }
    assert_same(sum + (string.size - before), string.size);
    if (side == SITE_FRONT || side == SITE_BACK) {
        assert_int_equal(count, s->bays + 1);
        assert_same(mark[0].mark, s->b.string);
        assert_same(string.size - mark[count - 1].mark, s->b.string);
        for (size_t i = 1; i + 1 < count; i++)
            assert_same(mark[i].mark - mark[0].mark, (length)i * s->row[0].spacing - s->b.nailed);
    }
    if (side == SITE_START)
        assert_int_equal(count, 2 + 2 + 2 * s->doors); /* corner posts of the long walls, listed ones, door posts */
}

/* The same building seen from its other end: x runs the other way. */
static void
hold_mirror(const struct random_site *s, const struct site_layout_post *post, size_t n)
{
    static const enum site_side side[] = { SITE_FRONT, SITE_BACK, SITE_END, SITE_START, SITE_INSIDE };
    struct random_site m = *s;
    struct site_layout_post seen[ROOM];
    struct site_mark mark[ROOM], back[ROOM];
    length inside[1] = { s->b.along - s->list[2] };
    for (size_t i = 0; i < s->rows; i++)
        m.row[i].side = side[s->row[i].side];
    m.row[2].at = s->list;
    m.row[3].at = inside;
    assert_int_equal(set_posts(&m.b, m.row, m.rows, m.door, m.doors, seen), n);
    for (size_t i = 0; i < n; i++) {
        size_t k = 0;
        length x = s->b.along - post[i].low.x - s->b.post_along;
        while (k < n && !(labs(seen[k].low.x - x) <= 1 && seen[k].low.y == post[i].low.y)) /* half a post of odd thickness */
            k++;
        assert_true(k < n);
    }
    struct site_string string = site_layout_string(&s->b, SITE_FRONT, 0);
    size_t count = site_layout_marks(&s->b, SITE_FRONT, 0, s->row, s->door, post, n, mark);
    assert_int_equal(site_layout_marks(&m.b, SITE_FRONT, 0, m.row, m.door, seen, n, back), count);
    for (size_t i = 0; i < count; i++)
        assert_true(labs(string.size - mark[i].mark - back[count - 1 - i].mark) <= 1);
}

/* A quarter turn: length and width exchanged, x for y. */
static void
hold_turn(const struct random_site *s, const struct site_layout_post *post, size_t n)
{
    static const enum site_side side[] = { SITE_START, SITE_END, SITE_FRONT, SITE_BACK };
    struct random_site t = *s;
    struct site_layout_post seen[ROOM], first[ROOM];
    t.b = (struct site_building){ s->b.across, s->b.along, s->b.post_across, s->b.post_along, s->b.nailed, s->b.string, s->b.set_back };
    for (size_t i = 0; i < 3; i++)
        t.row[i].side = side[s->row[i].side];
    size_t some = set_posts(&s->b, s->row, 3, s->door, s->doors, first);
    assert_true(some <= n);
    assert_int_equal(set_posts(&t.b, t.row, 3, t.door, t.doors, seen), some);
    for (size_t i = 0; i < some; i++) {
        assert_same(seen[i].low.x, post[i].low.y);
        assert_same(seen[i].low.y, post[i].low.x);
        assert_same(seen[i].centre.x, post[i].centre.y);
    }
}

static void
laws_over_random_buildings(void **state)
{
    const char *asked = getenv("SITES");
    long sites = asked ? atol(asked) : 3000, tried = 0;
    (void)state;
    for (long i = 0; i < sites; i++) {
        struct random_site s;
        struct site_layout_post post[ROOM];
        chance_state = (uint64_t)i * 77 + 1;
        make_site(&s);
        assert_int_equal(site_layout_fits(&s.b), SITE_LAYOUT_OK);
        size_t n = set_posts(&s.b, s.row, s.rows, s.door, s.doors, post);
        hold_lengths(&s);
        for (int side = SITE_FRONT; side <= SITE_INSIDE; side++)
            hold_string(&s, (enum site_side)side, post, n);
        hold_mirror(&s, post, n);
        hold_turn(&s, post, n);
        tried++;
    }
    assert_true(tried > 0);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(distances_are_rounded_once),
        cmocka_unit_test(diagonals_of_usual_frames),
        cmocka_unit_test(nailed_outside_brings_the_faces_in),
        cmocka_unit_test(battens_carry_the_strings),
        cmocka_unit_test(what_does_not_go_together),
        cmocka_unit_test(outside_is_measured_from_the_nearest_line),
        cmocka_unit_test(corner_bays_are_short_by_what_is_nailed),
        cmocka_unit_test(each_wall_has_its_side),
        cmocka_unit_test(a_list_is_as_good_as_a_spacing),
        cmocka_unit_test(posts_at_a_door),
        cmocka_unit_test(a_corner_post_may_be_the_door_post),
        cmocka_unit_test(rows_that_do_not_fit),
        cmocka_unit_test(posts_in_one_another_are_found),
        cmocka_unit_test(a_door_inside_is_no_door_of_the_wall),
        cmocka_unit_test(the_largest_triangle_that_fits),
        cmocka_unit_test(laws_over_random_buildings),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
