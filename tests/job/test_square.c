/* test_square.c - moving, turning or mirroring what a frame is to be takes its moves along */
#include "near.h"

#include "rodbook/square.h"

#include <stdio.h>
#include <string.h>

struct done {
    struct record r;
    struct diag d;
    struct square s;
};

static void
work(struct done *w, const char *text)
{
    struct source source = source_of_bytes(text, strlen(text));
    *w = (struct done){ .s = { .r = NULL } };
    assert_int_equal(record_read(&w->r, &source, &w->d), 0);
    if (w->d.errors > 0)
        fail_msg("%u: %s", (unsigned)w->d.item[0].place.line, w->d.item[0].text);
    assert_int_equal(square_work(&w->s, &w->r, 0.95, &w->d), 0);
}

static void
release(struct done *w)
{
    square_release(&w->s);
    record_release(&w->r);
    diag_release(&w->d);
}

static const char rows[] = "---\ntape:\n  sigma: 1 mm\n  rows:\n    - {from: A, to: B, read: 14.632}\n    - {from: B, to: C, read: 7.310}\n"
                           "    - {from: D, to: C, read: 14.640}\n    - {from: A, to: D, read: 7.318}\n    - {from: A, to: C, read: 16.408}\n"
                           "    - {from: B, to: D, read: 16.315}\n";

/* A rectangle of 14.63 by 7.32 turned, moved, and mirrored, written to the nanometre. */
static void
record_of(char *text, size_t room, double turn, double x, double y, bool mirror)
{
    static const double at[4][2] = { { 0, 0 }, { 14.63, 0 }, { 14.63, 7.32 }, { 0, 7.32 } };
    int n = snprintf(text, room, "---\njob: A\nunit: m\nleast: 0.001\n---\npoints:\n");
    for (int k = 0; k < 4; k++) {
        double u = at[k][0], v = mirror ? -at[k][1] : at[k][1];
        n += snprintf(text + n, room - (size_t)n, "  %c: {x: %.9f, y: %.9f}\n", 'A' + k, x + cos(turn) * u - sin(turn) * v, y + sin(turn) * u + cos(turn) * v);
    }
    snprintf(text + n, room - (size_t)n, "%s", rows);
}

static void
places_take_the_answer_along(void **state)
{
    char text[2048];
    struct done plain, other;
    (void)state;
    record_of(text, sizeof text, 0, 0, 0, false);
    work(&plain, text);
    const struct square_figure *p = &plain.s.figure[0];
    assert_int_equal(p->state, SQUARE_OUTSIDE);
    for (int i = 1; i < 60; i++) {
        double turn = 0.11 * i, x = 37.1 * (i % 7 - 3), y = -81.7 * (i % 5);
        bool mirror = i % 2;
        record_of(text, sizeof text, turn, x, y, mirror);
        work(&other, text);
        const struct square_figure *f = &other.s.figure[0];
        assert_int_equal(f->state, p->state);
        assert_int_equal(f->cure.kind, p->cure.kind);
        assert_near(f->slide, p->slide, 1e-12);
        for (int k = 0; k < 4; k++) {
            double u = p->corner[k].x, v = mirror ? -p->corner[k].y : p->corner[k].y;
            assert_int_equal(f->corner[k].name, p->corner[k].name);
            assert_near(f->cure.move[k].along, p->cure.move[k].along, 3e-9); /* places are rounded to the nanometre */
            assert_near(f->cure.move[k].across, p->cure.move[k].across, 3e-9);
            assert_near(f->corner[k].angle, p->corner[k].angle, 1e-9);
            assert_near(f->corner[k].out, p->corner[k].out, 3e-9);
            assert_near(f->corner[k].sigma_x, p->corner[k].sigma_x, 1e-12);
            assert_near(f->corner[k].x, x + cos(turn) * u - sin(turn) * v, 2e-8);
            assert_near(f->corner[k].y, y + sin(turn) * u + cos(turn) * v, 2e-8);
        }
        release(&other);
    }
    release(&plain);
}

/* The last row of a name holds as a whole, as everywhere. */
static void
the_last_place_holds(void **state)
{
    char text[2048];
    struct done w;
    (void)state;
    record_of(text, sizeof text, 0, 0, 0, false);
    strcat(text, "---\npoints: {B: {x: 14.70, y: 0}}\n");
    work(&w, text);
    assert_near(w.s.length[w.s.figure[0].first_length].intent, 14.70, 1e-12);
    release(&w);
    strcat(text, "---\npoints: {B: {kind: corner}}\n");
    work(&w, text);
    assert_false(w.s.figure[0].intended);
    assert_int_equal(w.s.figure[0].state, SQUARE_UNJUDGED);
    release(&w);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(places_take_the_answer_along),
        cmocka_unit_test(the_last_place_holds),
    };
    return cmocka_run_group_tests_name("square", tests, NULL, NULL);
}
