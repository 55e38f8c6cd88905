/* test_data.c - one table of what a command gives as CSV, read back by our own reader */
#include "../hard.h"
#include "../program.h"

#include "rodbook/csv.h"
#include "rodbook/sheet.h"

#include <jansson.h>

static json_t *
json_of(const char *command, const char *record, int status)
{
    json_error_t fault;
    struct ran r = RUN(command, "--json", record);
    assert_int_equal(r.status, status);
    json_t *root = json_loads(r.out, JSON_REJECT_DUPLICATES, &fault);
    if (!root)
        fail_msg("line %d: %s", fault.line, fault.text);
    ran_release(&r);
    return root;
}

/* The key that a heading says, which the unit stands behind. */
static void
heading_key(char *key, const char *heading, const char *unit)
{
    strcpy(key, heading);
    char *blank = strchr(key, ' ');
    if (!blank)
        return;
    assert_string_equal(blank + 1, unit);
    *blank = '\0';
}

static void
assert_cell(const struct csv_cell *cell, const json_t *value)
{
    char *end;
    assert_non_null(value);
    if (json_is_null(value)) {
        assert_int_equal(cell->n, 0);
    } else if (json_is_string(value)) {
        assert_string_equal(cell->text, json_string_value(value));
    } else if (json_is_boolean(value)) {
        assert_string_equal(cell->text, json_is_true(value) ? "true" : "false");
    } else {
        assert_near(strtod(cell->text, &end), json_number_value(value), 0);
        assert_true(end > cell->text && *end == '\0');
    }
}

/* Each row of a list without lists in it, cell by cell. */
static void
assert_table(const char *command, const char *table, const char *record, int status, const char *unit)
{
    struct ran r = RUN(command, "--csv", table, record);
    struct diag d = { 0 };
    struct csv c;
    struct csv_cell cell;
    char key[64][64];
    size_t keys = 0, i = 0;
    json_t *root = json_of(command, record, status), *row;
    assert_int_equal(r.status, status);
    csv_begin(&c, r.out, strlen(r.out), LENGTH_BARE_M, &d);
    do {
        assert_true(csv_cell(&c, &cell) && keys < 64);
        heading_key(key[keys++], cell.text, unit);
    } while (!cell.last);
    json_array_foreach(json_object_get(root, table), i, row) {
        assert_int_equal(json_object_size(row), keys);
        for (size_t k = 0; k < keys; k++) {
            assert_true(csv_cell(&c, &cell));
            assert_cell(&cell, json_object_get(row, key[k]));
            assert_int_equal(cell.last, k + 1 == keys);
        }
    }
    assert_true(i > 1);
    assert_int_equal(c.at, c.n);
    assert_int_equal(d.n, 0);
    csv_close(&c);
    diag_release(&d);
    json_decref(root);
    ran_release(&r);
}

static void
our_own_reader_reads_it_back(void **state)
{
    (void)state;
    assert_table("stakes", "stakes", "surveys/fernhill.yaml", 0, "ft");
    assert_table("stakes", "stakes", "surveys/mill-lane.yaml", 0, "ft");
    assert_table("stakes", "stakes", "surveys/quay-nursery.yaml", 0, "m");
    assert_table("reduce", "points", "surveys/mill-lane.yaml", 0, "ft");
    assert_table("adjust", "observations", "surveys/quay-nursery.yaml", 0, "m");
}

/* ---- names ---- */

static char *
hostile(void)
{
    return hard_record(hard_whole, &hard_names[HARD_NAMES - 1], &hard_edits[0]);
}

static void
names_come_out_as_written(void **state)
{
    static const char *const cells[] = { "\r\n=1+1,mark,", "\r\n+2,mark,", "\r\n-3,batten,", "\r\n@4,batten,",
        "\r\n\"a,\"\"b\"\"1\",post,", "\r\nnulla,ground," };
    char *record = hostile();
    struct ran r = RUN_WITH(record, "stakes", "--csv", "points", "-");
    (void)state;
    assert_int_equal(r.status, 0);
    for (size_t i = 0; i < sizeof cells / sizeof cells[0]; i++)
        if (!strstr(r.out, cells[i]))
            fail_msg("no cell %s in\n%s", cells[i] + 2, r.out);
    ran_release(&r);
    r = RUN_WITH(record, "stakes", "--csv", "stakes", "-");
    assert_non_null(strstr(r.out, ",\"\\\\,;'<script>\",finish,"));
    ran_release(&r);
    free(record);
}

/* A point that is called null, and one without a name: their cells differ. */
static void
a_name_is_no_lack_of_one(void **state)
{
    static const char record[] = "---\njob: J\nunit: m\nleast: 0.001\n---\nmarks: {\"null\": {elevation: 10}}\n"
                                 "---\nsections:\n  rows:\n    - {from: \"null\", to: \" x\"}\n"; /* refused below */
    static const char sections[] = "---\njob: J\nunit: m\nleast: 0.001\nsigma-km: 0.002\n---\nmarks: {\"null\": {elevation: 10}}\n"
                                   "---\nsections:\n  rows:\n    - {from: \"null\", to: \"true\", rise: 1, dist: 100}\n"
                                   "    - {from: \"true\", to: \"null\", rise: -1, dist: 100}\n";
    (void)state;
    struct ran r = RUN_WITH(sections, "adjust", "--csv", "observations", "-");
    assert_int_equal(r.status, 0);
    assert_non_null(strstr(r.out, "\r\n1,section,3,1,,,,null,true,1.000000000,"));
    ran_release(&r);
    r = RUN_WITH(record, "adjust", "--csv", "observations", "-");
    assert_int_equal(r.status, 2);
    assert_string_equal(r.out, ""); /* no headings of results that are not there */
    ran_release(&r);
}

/* ---- tables ---- */

static void
an_empty_table_has_its_headings(void **state)
{
    (void)state;
    struct ran r = RUN("suspects", "--csv", "loops", "surveys/fernhill.yaml");
    assert_int_equal(r.status, 0);
    assert_string_equal(r.out, "fault,loop,line,setups,misclosure ft,limit ft,by_sigma\r\n");
    ran_release(&r);
}

static void
a_list_stands_in_its_cell_as_in_the_json(void **state)
{
    (void)state;
    struct ran r = RUN("close", "--csv", "runs", "surveys/fernhill.yaml");
    assert_int_equal(r.status, 0);
    assert_non_null(strstr(r.out, ",closed,\"[0.006666667,0.013333333,0.020000000]\"\r\n"));
    ran_release(&r);
    char *record = hostile();
    r = RUN_WITH(record, "pad", "--csv", "squares", "-");
    assert_non_null(strstr(r.out, "\r\n\"[\"\"nulla\"\",\"\"nullb\"\",\"\"nulld\"\",\"\"nullc\"\"]\","));
    ran_release(&r);
    free(record);
}

static void
every_table_is_named_in_the_help(void **state)
{
    char word[80];
    (void)state;
    for (size_t i = 0; i < sheet_table_count; i++) {
        const struct sheet_table *t = &sheet_tables[i];
        struct ran r = RUN("help", t->command);
        char *list = strstr(r.out, "docs/csv.md: ");
        assert_non_null(list);
        list += strcspn(list, ":");
        snprintf(word, sizeof word, " %s", t->name);
        const char *at = strstr(list, word);
        if (!at || !strchr(",\n", at[strlen(word)]))
            fail_msg("%s does not name its table %s", t->command, t->name);
        assert_ptr_equal(sheet_table_find(t->command, t->name), t); /* no name twice */
        ran_release(&r);
    }
    assert_null(sheet_table_find("stakes", "readings"));
}

static void
assert_refused(struct ran r, const char *says)
{
    assert_int_equal(r.status, 2);
    assert_string_equal(r.out, "");
    if (!strstr(r.err, says))
        fail_msg("not said: %s\n%s", says, r.err);
    ran_release(&r);
}

static void
other_tables_are_refused(void **state)
{
    (void)state;
    assert_refused(RUN("stakes", "--csv", "stake", "surveys/fernhill.yaml"),
        "rodbook stakes: --csv wants one of stakes, runs, points, advice\n");
    assert_refused(RUN("close", "--csv", "stakes", "surveys/fernhill.yaml"), "rodbook close: --csv wants one of runs, points\n");
    assert_refused(RUN("close", "--csv", "runs", "--json", "surveys/fernhill.yaml"), "--json or --csv, not both");
    assert_refused(RUN("check", "--csv", "runs", "surveys/fernhill.yaml"), "unknown option --csv");
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(our_own_reader_reads_it_back),
        cmocka_unit_test(names_come_out_as_written),
        cmocka_unit_test(a_name_is_no_lack_of_one),
        cmocka_unit_test(an_empty_table_has_its_headings),
        cmocka_unit_test(a_list_stands_in_its_cell_as_in_the_json),
        cmocka_unit_test(every_table_is_named_in_the_help),
        cmocka_unit_test(other_tables_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
