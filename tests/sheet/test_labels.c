/* test_labels.c - labels beside points: what holds whatever is given, and what the placing prefers */
#include "near.h"

#include "../../src/sheet/labels.h"

#include <stdlib.h>
#include <string.h>

static const struct label_box page = { 40, 60, 555, 760 };

/* A number from 0 to 1, the same ones for the same seed. */
static double
chance(uint64_t *seed)
{
    *seed = *seed * 6364136223846793005u + 1442695040888963407u;
    return (double)(*seed >> 40) / (double)(1 << 24);
}

static struct label
point(double x, double y, double width, double height)
{
    return (struct label){ .x = x, .y = y, .reach = 3, .width = { width }, .height = { height }, .key_width = 14, .key_height = 10 };
}

static bool
stands(const struct label *l)
{
    return l->how != LABEL_NOWHERE;
}

static void
say_box(const char *what, size_t i, size_t j)
{
    fail_msg("label %zu: %s %zu", i, what, j);
}

/* What labels.h promises of each, and of each two. */
static void
one_is_clear(const struct labels *l, size_t i)
{
    const struct label *a = &l->label[i];
    if (!(a->box.left >= l->window.left && a->box.right <= l->window.right && a->box.top >= l->window.top && a->box.bottom <= l->window.bottom))
        say_box("leaves the window", i, 0);
    if (a->reach > 0 && label_boxes_meet(a->box, label_symbol(a)))
        say_box("over its own symbol", i, i);
    for (size_t j = 0; j < l->takens; j++)
        if (label_boxes_meet(a->box, l->taken[j]) || (a->led && label_line_meets_box(a->lead, l->taken[j])))
            say_box("over the symbol taken", i, j);
}

/* Without a leader a name is nobody else's; and what stands off its symbol has one. */
static void
whose_it_is_is_seen(const struct labels *l, size_t i)
{
    const struct label *a = &l->label[i];
    struct label_box name = label_name(a, a->form, a->box), own = label_symbol(a);
    if (a->on_line || (a->how != LABEL_BESIDE && a->how != LABEL_LED))
        return;
    if (!a->led && label_apart(a->box, own) > LABELS_CLOSE)
        say_box("stands off without a leader", i, i);
    for (size_t j = 0; !a->led && j < l->n; j++)
        if (j != i && l->label[j].reach > 0 && !label_boxes_meet(own, label_symbol(&l->label[j])) &&
            label_apart(name, label_symbol(&l->label[j])) <= label_apart(name, own))
            say_box("might be the name of", i, j);
}

/* The end of a label that is far from its own symbol is near no other's: a move that begins there would be dug there. */
static void
its_end_is_nobody_elses(const struct labels *l, size_t i)
{
    const struct label *a = &l->label[i];
    const struct label_box b = a->box, own = label_symbol(a);
    if (a->on_line || (a->how != LABEL_BESIDE && a->how != LABEL_LED) || !(a->name_width > 0) || (a->form == 0 && a->height[0] <= a->name_height))
        return;
    for (size_t j = 0; j < l->n; j++) {
        const struct label *o = &l->label[j];
        double x = fmin(fmax(o->x, b.left), b.right), y = fmin(fmax(o->y, b.top), b.bottom);
        double aside = fmax(0, fabs(o->x - x) - o->reach), above = fmax(0, fabs(o->y - y) - o->reach);
        if (j == i || !(o->reach > 0) || o->idle || label_boxes_meet(label_symbol(o), own) ||
            label_apart((struct label_box){ x, y, x, y }, own) <= hypot(aside, above))
            continue;
        bool over = fabs((b.left + b.right) / 2 - a->x) < (b.right - b.left) / 8;
        if (hypot(aside, 2 * above) < LABELS_FOREIGN / (over ? 2 : 1) - 0.01)
            say_box("ends beside the symbol of", i, j);
        if (fabs(o->y - y) < o->reach && aside < 1.6 * a->name_height - 0.01)
            say_box("begins beside, and in line with, the symbol of", i, j);
    }
}

static void
two_are_clear(const struct labels *l, size_t i, size_t j)
{
    const struct label *a = &l->label[i], *b = &l->label[j];
    if (b->reach > 0 && label_boxes_meet(a->box, label_symbol(b)))
        say_box("over the symbol of", i, j);
    if (a->led && b->reach > 0 && label_line_meets_box(a->lead, label_symbol(b)))
        say_box("leader over the symbol of", i, j);
    if (!stands(b))
        return;
    struct label_box wide = { b->box.left - LABELS_GAP + 0.01, b->box.top - LABELS_GAP + 0.01, b->box.right + LABELS_GAP - 0.01,
        b->box.bottom + LABELS_GAP - 0.01 };
    if (label_boxes_meet(a->box, wide))
        say_box("over or too near to label", i, j);
    bool in_line = a->box.top < b->box.bottom && b->box.top < a->box.bottom;
    if (in_line && fmax(a->box.left - b->box.right, b->box.left - a->box.right) < LABELS_ASIDE - 0.01)
        say_box("reads as one line with label", i, j);
    if (a->led && label_line_meets_box(a->lead, b->box))
        say_box("leader over label", i, j);
    if (a->led && b->led && label_lines_cross(a->lead, b->lead))
        say_box("leader crosses that of", i, j);
}

static void
all_are_clear(const struct labels *l)
{
    for (size_t i = 0; i < l->n; i++)
        if (stands(&l->label[i])) {
            one_is_clear(l, i);
            whose_it_is_is_seen(l, i);
            its_end_is_nobody_elses(l, i);
            for (size_t j = 0; j < l->n; j++)
                if (j != i)
                    two_are_clear(l, i, j);
        }
}

static size_t
count(const struct labels *l, enum label_how how)
{
    size_t n = 0;
    for (size_t i = 0; i < l->n; i++)
        n += l->label[i].how == how;
    return n;
}

#define CROWD 200

/* A crowd over a share of the page; a third has a second way to be set, a few are minor, some stand on lines. */
static struct labels
crowd(struct label label[CROWD], struct label_line line[6], struct label_box taken[10], uint64_t seed, double share)
{
    struct labels l = { .window = page, .label = label, .n = CROWD, .line = line, .lines = 6, .taken = taken, .takens = 10 };
    for (size_t i = 0; i < CROWD; i++) {
        double x = 300 + (chance(&seed) - 0.5) * 500 * share, y = 400 + (chance(&seed) - 0.5) * 680 * share;
        label[i] = point(x, y, 30 + 60 * chance(&seed), i % 4 ? 20 : 30);
        label[i].reach = 2 + 3 * chance(&seed);
        label[i].minor = i % 11 == 5;
        label[i].name_width = i % 5 ? 20 : 0;
        label[i].name_height = 10;
        if (i % 3 == 0) {
            label[i].width[1] = label[i].width[0] * 1.6;
            label[i].height[1] = 10;
        }
        if (i % 50 == 7)
            label[i] = (struct label){ .x = x, .y = y, .x2 = x + 120, .y2 = y + 60, .on_line = true, .width = { 30 }, .height = { 10 } };
    }
    for (size_t i = 0; i < 6; i++)
        line[i] = (struct label_line){ 500 * chance(&seed), 700 * chance(&seed), 500 * chance(&seed), 700 * chance(&seed) };
    for (size_t i = 0; i < 10; i++) {
        double x = 60 + 480 * chance(&seed), y = 80 + 660 * chance(&seed);
        taken[i] = (struct label_box){ x, y, x + 7, y + 7 };
    }
    return l;
}

static void
no_label_stands_over_another(void **state)
{
    static const double shares[] = { 1, 0.7, 0.4, 0.05 };
    struct label label[CROWD], again[CROWD];
    struct label_line line[6];
    struct label_box taken[10];
    (void)state;
    for (uint64_t seed = 1; seed <= 24; seed++) {
        struct labels l = crowd(label, line, taken, seed * 977, shares[seed % 4]);
        assert_int_equal(labels_place(&l), 0);
        all_are_clear(&l);
        if (seed % 4 == 0)
            assert_true(count(&l, LABEL_BESIDE) + count(&l, LABEL_LED) >= 75); /* a page of 200: more than a third have their words, most others a key */
        struct labels same = crowd(again, line, taken, seed * 977, shares[seed % 4]);
        assert_int_equal(labels_place(&same), 0);
        for (size_t i = 0; i < CROWD; i++) {
            assert_int_equal(label[i].how, again[i].how);
            assert_memory_equal(&label[i].box, &again[i].box, stands(&label[i]) ? sizeof label[i].box : 0);
        }
    }
}

/* All in one place: nothing fits there, and nothing is forced in. */
static void
marks_in_one_place(void **state)
{
    struct label label[60];
    struct labels l = { .window = page, .label = label, .n = 60 };
    (void)state;
    for (size_t i = 0; i < 60; i++)
        label[i] = point(300, 400, 50, 20);
    assert_int_equal(labels_place(&l), 0);
    all_are_clear(&l);
    assert_true(count(&l, LABEL_BESIDE) + count(&l, LABEL_LED) >= 4);
    assert_true(count(&l, LABEL_NOWHERE) > 0);
}

static void
alone_it_stands_at_the_right(void **state)
{
    struct label label = point(300, 400, 50, 20);
    struct labels l = { .window = page, .label = &label, .n = 1 };
    (void)state;
    assert_int_equal(labels_place(&l), 0);
    assert_int_equal(label.how, LABEL_BESIDE);
    assert_true(label.box.left > 303 && label.box.left < 307);
    assert_near((label.box.top + label.box.bottom) / 2, 400, 1e-9);
    assert_false(label.on_lines);
    label = point(page.right - 10, 400, 50, 20); /* no room there: at the left */
    assert_int_equal(labels_place(&l), 0);
    assert_true(label.box.right < page.right - 13);
}

/* A line to the right is kept clear, where there is another place; and where there is none, it is said to be covered. */
static void
lines_are_kept_clear(void **state)
{
    struct label label = point(300, 400, 50, 20);
    struct label_line line[5] = { { 303, 380, 303, 420 }, { 310, 380, 310, 420 } };
    struct labels l = { .window = page, .label = &label, .n = 1, .line = line, .lines = 2 };
    (void)state;
    assert_int_equal(labels_place(&l), 0);
    assert_true(label.box.right < 300);
    assert_false(label.on_lines);
    for (size_t i = 0; i < 5; i++)
        line[i] = (struct label_line){ 0, 340 + 30.0 * (double)i, 600, 340 + 30.0 * (double)i };
    l.lines = 5;
    label = point(300, 400, 50, 40);
    assert_int_equal(labels_place(&l), 0);
    assert_true(label.on_lines);
}

/* A firm line is covered by whoever has no other place, farther off or not; one never to be covered by nobody. */
static void
walls_are_not_broken(void **state)
{
    struct label label = point(300, 400, 50, 20);
    struct label_line line[40];
    double weight[40];
    struct labels l = { .window = page, .label = &label, .n = 1, .line = line, .weight = weight, .lines = 1 };
    (void)state;
    line[0] = (struct label_line){ 306, 300, 306, 500 };
    weight[0] = LABELS_FIRM;
    assert_int_equal(labels_place(&l), 0);
    assert_false(label.on_lines);
    assert_true(label.box.right < 306 - LABELS_CLEAR);
    for (size_t i = 0; i < 40; i++) {
        line[i] = (struct label_line){ 0, 60 + 18.0 * (double)i, 600, 60 + 18.0 * (double)i };
        weight[i] = LABELS_FIRM;
    }
    l.lines = 40;
    label = point(300, 400, 50, 20);
    assert_int_equal(labels_place(&l), 0);
    assert_true(label.how == LABEL_BESIDE && label.on_lines);
    for (size_t i = 0; i < 40; i++)
        weight[i] = LABELS_NEVER;
    label = point(300, 401, 50, 20);
    assert_int_equal(labels_place(&l), 0);
    assert_int_equal(label.how, LABEL_KEYED); /* 10 high: between two of them */
    for (size_t i = 0; i < 40; i++)
        assert_false(label_line_meets_box(line[i], label.box));
}

/* Wide enough apart, all stand alike, whatever else would be a little better for one of them. */
static void
a_row_keeps_to_one_side(void **state)
{
    struct label label[5];
    const struct label_box taken[] = { { 250, 396, 256, 404 }, { 450, 396, 456, 404 } };
    struct labels l = { .window = page, .label = label, .n = 5, .taken = taken, .takens = 2 };
    (void)state;
    for (size_t i = 0; i < 5; i++)
        label[i] = point(100 + 100 * (double)i, 400, 60, 20);
    assert_int_equal(labels_place(&l), 0);
    all_are_clear(&l);
    for (size_t i = 1; i < 5; i++)
        assert_near(label[i].box.top, label[0].box.top, 1e-9);
}

/* K2 stands between K1 and K3, near to both: its words must not stand under theirs. */
static void
a_name_is_nearest_its_own(void **state)
{
    struct label label[3] = { point(200, 400, 90, 20), point(250, 400, 90, 20), point(300, 400, 90, 20) };
    struct labels l = { .window = page, .label = label, .n = 3 };
    (void)state;
    for (size_t i = 0; i < 3; i++) {
        label[i].name_width = 14;
        label[i].name_height = 10;
        label[i].width[1] = 110;
        label[i].height[1] = 10;
    }
    assert_int_equal(labels_place(&l), 0);
    all_are_clear(&l);
    assert_int_equal(count(&l, LABEL_BESIDE), 3);
    label[0].x = label[0].box.left - 40; /* an upright name box: above the rest, at its own end */
    struct label_box name = label_name(&label[0], 0, label[0].box);
    assert_near(name.left, label[0].box.left, 1e-12);
    assert_near(name.right - name.left, 14, 1e-12);
    assert_near(label_apart((struct label_box){ 0, 0, 1, 1 }, (struct label_box){ 4, 5, 6, 7 }), 5, 1e-12);
}

/* Two crosses in line: the words of the right one do not begin beside the left one, though there is room for them. */
static void
a_move_is_not_read_at_another(void **state)
{
    struct label label[2] = { point(200, 400, 30, 20), point(310, 400, 88, 20) };
    const struct label_box taken[] = { { 315, 300, 320, 500 } };
    struct labels l = { .window = page, .label = label, .n = 2, .taken = taken, .takens = 1 };
    (void)state;
    for (size_t i = 0; i < 2; i++) {
        label[i].name_width = 14;
        label[i].name_height = 10;
    }
    assert_int_equal(labels_place(&l), 0);
    all_are_clear(&l);
    assert_int_equal(count(&l, LABEL_BESIDE), 2);
    assert_true(label[1].box.bottom < 397 || label[1].box.top > 403);
}

/* What is idle is named farther off where there is no other place; what is minor alone is not. */
static void
idle_ones_may_be_led(void **state)
{
    struct label label[1] = { point(300, 400, 20, 10) };
    struct label_box taken[] = { { 305, 380, 312, 420 }, { 288, 380, 295, 420 }, { 290, 385, 310, 394 }, { 290, 406, 310, 415 } };
    struct labels l = { .window = page, .label = label, .n = 1, .taken = taken, .takens = 4 };
    (void)state;
    label[0].minor = true;
    assert_int_equal(labels_place(&l), 0);
    assert_int_equal(label[0].how, LABEL_NOWHERE);
    taken[3] = taken[2]; /* a leader gets out below */
    taken[0].bottom = taken[1].bottom = 410;
    l.line = (const struct label_line[]){ { 0, 414, 600, 414 }, { 0, 420, 600, 420 } };
    l.weight = (const double[]){ LABELS_NEVER, LABELS_NEVER };
    l.lines = 2;
    assert_int_equal(labels_place(&l), 0);
    assert_int_equal(label[0].how, LABEL_NOWHERE);
    label[0].idle = true;
    assert_int_equal(labels_place(&l), 0);
    all_are_clear(&l);
    assert_int_equal(label[0].how, LABEL_LED);
}

/* Two ways to stand for the first, one for the second: whoever chooses first gives way. */
static void
neighbours_give_way(void **state)
{
    struct label label[2] = { point(300, 400, 50, 20), point(412, 400, 50, 20) };
    /* The second has all its own places taken but those at its left, where the first likes to stand. */
    const struct label_box taken[] = { { 420, 340, 440, 470 }, { 380, 360, 384, 380 }, { 380, 420, 384, 440 } };
    struct labels l = { .window = page, .label = label, .n = 2, .taken = taken, .takens = sizeof taken / sizeof taken[0] };
    (void)state;
    l.n = 1;
    assert_int_equal(labels_place(&l), 0);
    assert_true(label[0].box.left > 303);
    l.n = 2;
    assert_int_equal(labels_place(&l), 0);
    all_are_clear(&l);
    assert_int_equal(label[0].how, LABEL_BESIDE);
    assert_true(label[0].box.right < 358 - LABELS_ASIDE || label[0].box.right < 300);
    assert_int_equal(label[1].how, LABEL_BESIDE);
    assert_true(label[1].box.right < 409);
}

static void
too_wide_is_keyed_and_then_nowhere(void **state)
{
    struct label label = point(300, 400, 0, 20);
    struct labels l = { .window = page, .label = &label, .n = 1 };
    (void)state;
    assert_int_equal(labels_place(&l), 0);
    assert_int_equal(label.how, LABEL_KEYED);
    assert_near(label.box.right - label.box.left, 14, 1e-9);
    label.minor = true;
    assert_int_equal(labels_place(&l), 0);
    assert_int_equal(label.how, LABEL_NOWHERE);
    label = point(300, 400, 50, 20);
    l.window = (struct label_box){ 295, 395, 305, 405 };
    assert_int_equal(labels_place(&l), 0);
    assert_int_equal(label.how, LABEL_NOWHERE);
}

static void
minor_ones_come_last(void **state)
{
    struct label label[2] = { point(300, 400, 50, 20), point(300, 400, 50, 20) };
    struct labels l = { .window = page, .label = label, .n = 2 };
    (void)state;
    label[0].minor = true;
    assert_int_equal(labels_place(&l), 0);
    assert_true(label[1].box.left > 300 && fabs(label[1].box.top - 390) < 1e-9); /* the best place, though it is the second */
    assert_true(label[0].how == LABEL_BESIDE && label[0].box.right < 300);
}

static void
on_its_line_or_nowhere(void **state)
{
    struct label label[2] = { { .x = 100, .y = 200, .x2 = 300, .y2 = 200, .on_line = true, .width = { 30 }, .height = { 10 } },
        point(200, 200, 30, 10) };
    struct labels l = { .window = page, .label = label, .n = 2 };
    (void)state;
    assert_int_equal(labels_place(&l), 0);
    all_are_clear(&l);
    assert_int_equal(label[0].how, LABEL_BESIDE);
    assert_near((label[0].box.top + label[0].box.bottom) / 2, 200, 1e-9);
    const struct label_box taken[] = { { 90, 190, 310, 210 } };
    l.taken = taken;
    l.takens = 1;
    assert_int_equal(labels_place(&l), 0);
    assert_int_equal(label[0].how, LABEL_NOWHERE);
}

static void
lines_and_boxes(void **state)
{
    const struct label_box b = { 10, 10, 20, 30 };
    struct label_line l = { 0, 0, 40, 40 };
    (void)state;
    assert_true(label_line_within(&l, b));
    assert_near(l.x1, 10, 1e-12);
    assert_near(l.y2, 20, 1e-12);
    assert_false(label_line_meets_box((struct label_line){ 0, 12, 9, 12 }, b));
    assert_false(label_line_meets_box((struct label_line){ 0, 35, 40, 35 }, b));
    assert_false(label_line_meets_box((struct label_line){ 5, 20, 12, 45 }, b));
    assert_true(label_line_meets_box((struct label_line){ 15, 0, 15, 50 }, b));
    assert_true(label_lines_cross((struct label_line){ 0, 0, 10, 10 }, (struct label_line){ 0, 10, 10, 0 }));
    assert_true(label_lines_cross((struct label_line){ 0, 0, 10, 10 }, (struct label_line){ 5, 5, 10, 0 })); /* a touch */
    assert_false(label_lines_cross((struct label_line){ 0, 0, 10, 10 }, (struct label_line){ 6, 5, 10, 0 }));
    assert_false(label_boxes_meet(b, (struct label_box){ 20, 10, 30, 30 }));
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(no_label_stands_over_another),
        cmocka_unit_test(marks_in_one_place),
        cmocka_unit_test(alone_it_stands_at_the_right),
        cmocka_unit_test(lines_are_kept_clear),
        cmocka_unit_test(walls_are_not_broken),
        cmocka_unit_test(a_row_keeps_to_one_side),
        cmocka_unit_test(a_name_is_nearest_its_own),
        cmocka_unit_test(a_move_is_not_read_at_another),
        cmocka_unit_test(idle_ones_may_be_led),
        cmocka_unit_test(neighbours_give_way),
        cmocka_unit_test(too_wide_is_keyed_and_then_nowhere),
        cmocka_unit_test(minor_ones_come_last),
        cmocka_unit_test(on_its_line_or_nowhere),
        cmocka_unit_test(lines_and_boxes),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
