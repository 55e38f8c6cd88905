/* test_line.c - lines at the prompt: every form, every refusal with its column, and round trips through a record */
#include "../near.h"

#include "rodbook/line.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define COUNT(list) (sizeof(list) / sizeof *(list))

static const struct record_job jobs[] = {
    { .unit = LENGTH_BARE_FT, .least = 3048000, .rod_length = 13 * LENGTH_FT },
    { .unit = LENGTH_BARE_FT_IN, .least = 1587500, .rod_length = 13 * LENGTH_FT },
    { .unit = LENGTH_BARE_M, .least = LENGTH_MM, .rod_length = 4 * LENGTH_M },
};

#define FT (&jobs[0])
#define FT_IN (&jobs[1])
#define M (&jobs[2])

/* ---- what the tests share ---- */

static struct line
good(const struct record_job *job, const char *text)
{
    struct line line;
    struct diag d = { 0 };
    memset(&line, 0xa5, sizeof line);
    if (line_read(&line, text, 1, job, &d) != 0)
        fail_msg("%s: %u: %s", text, d.item[0].place.column, d.item[0].text);
    assert_int_equal(d.n, 0);
    diag_release(&d);
    return line;
}

/* Refused once, at the column, by the check, and nothing is given out. */
static void
assert_refused(const struct record_job *job, const char *text, uint32_t column, const char *check, const char *word)
{
    struct line line, before;
    struct diag d = { 0 };
    memset(&line, 0xa5, sizeof line);
    before = line;
    if (line_read(&line, text, 7, job, &d) == 0)
        fail_msg("taken: %s", text);
    assert_memory_equal(&line, &before, sizeof line);
    assert_int_equal(d.errors, 1);
    assert_int_equal(d.n, 1);
    assert_int_equal(d.item[0].place.line, 7);
    if (d.item[0].place.column != column || strcmp(d.item[0].check, check) != 0 || !strstr(d.item[0].text, word))
        fail_msg("%s: column %u, %s [%s]", text, d.item[0].place.column, d.item[0].text, d.item[0].check);
    diag_release(&d);
}

static void
assert_single(const struct write_sight *s, const char *text, length value)
{
    assert_int_equal(s->wires, 1);
    assert_string_equal(s->text[0], text);
    assert_same(s->value, value);
    assert_same(s->wire[0], value);
}

/* ---- forms ---- */

static void
the_four_sights(void **state)
{
    (void)state;
    struct line l = good(FT, "bs BM1 4.62");
    assert_int_equal(l.kind, LINE_BS);
    assert_string_equal(l.row.at, "BM1");
    assert_int_equal(l.row.on, RECORD_ON_MARK);
    assert_single(&l.row.bs, "4.62", 462 * 3048000);
    assert_int_equal(l.row.is.wires + l.row.fs.wires, 0);
    l = good(FT, "is batten SW1 3.14");
    assert_int_equal(l.kind, LINE_IS);
    assert_int_equal(l.row.on, RECORD_ON_BATTEN);
    assert_string_equal(l.row.at, "SW1");
    assert_single(&l.row.is, "3.14", 314 * 3048000);
    l = good(FT, "tp TP1 5.87 4.15");
    assert_int_equal(l.kind, LINE_TP);
    assert_single(&l.row.fs, "5.87", 587 * 3048000);
    assert_single(&l.row.bs, "4.15", 415 * 3048000);
    l = good(FT, "fs BM1 2.910");
    assert_int_equal(l.kind, LINE_FS);
    assert_single(&l.row.fs, "2.910", 291 * 3048000);
    assert_int_equal(l.row.bs.wires, 0);
    assert_same(l.row.fs.dist_value, -1);
}

static void
capitals_and_blanks_are_no_matter(void **state)
{
    (void)state;
    struct line l = good(FT, "\t IS   Batten\tSW1   -3.045  ");
    assert_int_equal(l.row.on, RECORD_ON_BATTEN);
    assert_string_equal(l.row.at, "SW1");
    assert_single(&l.row.is, "-3.045", -3045 * INT64_C(304800));
    assert_int_equal(good(FT, "DONE").kind, LINE_DONE);
    assert_string_equal(good(FT, "bs bm1 4.62").row.at, "bm1"); /* of names they are */
}

static void
the_rod_stands_on_each_thing(void **state)
{
    (void)state;
    for (uint32_t on = 0; on < RECORD_ON_COUNT; on++) {
        char text[64];
        snprintf(text, sizeof text, "is %s W1 3.14", record_on_word((enum record_on)on));
        struct line l = good(FT, text);
        assert_int_equal(l.row.on, on);
        assert_string_equal(l.row.at, "W1");
    }
}

static void
feet_and_inches_with_blanks(void **state)
{
    static const char *const same[] = { "4' 7-3/8\"", "4'-7 3/8\"", "4 ft 7 3/8 in", "4ft 7-3/8in", "4' 7 3/8\"" };
    (void)state;
    for (size_t i = 0; i < COUNT(same); i++) {
        char text[64];
        snprintf(text, sizeof text, "bs STEP %s", same[i]);
        struct line l = good(FT_IN, text);
        assert_int_equal(l.row.bs.wires, 1);
        assert_same(l.row.bs.value, 4 * LENGTH_FT + 59 * LENGTH_IN / 8);
    }
    struct line l = good(FT_IN, "tp TP1 3' 10-5/8\" 4 ft 4 15/16 in");
    assert_same(l.row.fs.value, 3 * LENGTH_FT + 85 * LENGTH_IN / 8);
    assert_same(l.row.bs.value, 4 * LENGTH_FT + 79 * LENGTH_IN / 16);
    assert_string_equal(l.row.bs.text[0], "4 ft 4 15/16 in");
    assert_same(good(FT_IN, "is EAVE -5' 7-7/16\"").row.is.value, -(5 * LENGTH_FT + 119 * LENGTH_IN / 16));
    assert_same(good(M, "is W1 4' 7-3/8\"").row.is.value, 4 * LENGTH_FT + 59 * LENGTH_IN / 8);
    assert_same(good(FT, "bs BM1 1.408 m").row.bs.value, 1408 * LENGTH_MM);
}

static void
three_wires(void **state)
{
    (void)state;
    struct line l = good(M, "bs QA 1.378 1.188 0.997");
    assert_int_equal(l.row.bs.wires, 3);
    assert_same(l.row.bs.wire[0], 1378 * LENGTH_MM);
    assert_same(l.row.bs.wire[2], 997 * LENGTH_MM);
    assert_same(l.row.bs.value, 1187666667); /* 3.563 m / 3, rounded once */
    l = good(M, "tp TP1 1.446 1.401 1.357 1.732 1.7 1.668");
    assert_int_equal(l.row.fs.wires, 3);
    assert_same(l.row.fs.value, 1401333333);
    assert_int_equal(l.row.bs.wires, 3);
    assert_same(l.row.bs.value, 1700 * LENGTH_MM);
    l = good(FT_IN, "is W1 4' 7\" 4' 6-1/2\" 4 ft 6 in");
    assert_int_equal(l.row.is.wires, 3);
    assert_string_equal(l.row.is.text[1], "4' 6-1/2\"");
    assert_same(l.row.is.value, 4 * LENGTH_FT + 6 * LENGTH_IN + LENGTH_IN / 2);
}

static void
what_stands_behind_the_readings(void **state)
{
    (void)state;
    struct line l = good(FT, "is batten SW1 3.14 page 2 moved dist 84 for 5.3 note shot again: \"nail\" # 2");
    assert_int_equal(l.row.page, 2);
    assert_true(l.row.moved);
    assert_same(l.row.is.dist_value, 84 * LENGTH_FT);
    assert_string_equal(l.row.is.dist, "84");
    assert_int_equal(l.row.for_entry, 5);
    assert_int_equal(l.row.for_row, 3);
    assert_string_equal(l.row.note, "shot again: \"nail\" # 2");
    l = good(M, "tp TP1 1.446 1.732 dist 41 33.5");
    assert_same(l.row.fs.dist_value, 41 * LENGTH_M);
    assert_same(l.row.bs.dist_value, 335 * LENGTH_M / 10);
    l = good(FT, "bs BM1 4.62 dist 25 m");
    assert_same(l.row.bs.dist_value, 25 * LENGTH_M);
    l = good(FT, "fs BM1 2.91 for 7");
    assert_int_equal(l.row.for_entry, 7);
    assert_int_equal(l.row.for_row, 1);
    l = good(FT, "bs BM1 4.62 note dist 84 moved");
    assert_string_equal(l.row.note, "dist 84 moved");
    assert_false(l.row.moved);
    l = good(FT, "bs BM1 4.62 NOTE\tfar\tend ");
    assert_string_equal(l.row.note, "far end");
    l = good(FT, "bs BM1 4.62 # note moved");
    assert_string_equal(l.row.note, "");
    assert_false(l.row.moved);
}

static void
names_that_are_words_stand_in_quotes(void **state)
{
    (void)state;
    assert_string_equal(good(FT, "bs \"gate post\" 4.62").row.at, "gate post");
    struct line l = good(FT, "is batten \"post\" 3.14");
    assert_int_equal(l.row.on, RECORD_ON_BATTEN);
    assert_string_equal(l.row.at, "post");
    l = good(FT, "is \"batten\" 3.14");
    assert_int_equal(l.row.on, RECORD_ON_MARK);
    assert_string_equal(l.row.at, "batten");
    assert_string_equal(good(FT, "is \"note\" 3.14").row.at, "note");
    assert_string_equal(good(FT, "is \"# 4\" 3.14").row.at, "# 4");
    assert_string_equal(good(FT, "is moved 3.14").row.at, "moved"); /* no word of a line can stand there */
    assert_string_equal(good(FT, "is B\"1 3.14").row.at, "B\"1");
    assert_string_equal(good(FT, "is 12 3.14").row.at, "12");
    assert_string_equal(good(FT, "bs \"\xe4\xb8\x89\xe5\x8f\xb7 \xe6\xa1\xa9\" 4.62").row.at, "\xe4\xb8\x89\xe5\x8f\xb7 \xe6\xa1\xa9");
}

static void
lines_that_are_no_sights(void **state)
{
    static const struct {
        const char *text;
        enum line_kind kind;
        const char *rest;
    } lines[] = { { "", LINE_NOTHING, "" }, { " \t", LINE_NOTHING, "" }, { "# a remark \"", LINE_NOTHING, "" }, { "run", LINE_RUN, "" },
        { "show", LINE_SHOW, "" }, { "stand # now", LINE_STAND, "" }, { "help", LINE_HELP, "" }, { "done", LINE_DONE, "" },
        { "undo rod not plumb", LINE_UNDO, "rod not plumb" }, { "undo \"in quotes\" #", LINE_UNDO, "\"in quotes\" #" },
        { "by RO", LINE_BY, "RO" }, { "by R. O. jr", LINE_BY, "R. O. jr" } };
    static const char *const heads[] = { "date 2026-05-02", "instrument T1", "observer R O", "rodman LM", "weather rain, \"fog\"",
        "note at the # gate: shut" };
    (void)state;
    for (size_t i = 0; i < COUNT(lines); i++) {
        struct line l = good(FT, lines[i].text);
        assert_int_equal(l.kind, lines[i].kind);
        assert_string_equal(l.text, lines[i].rest);
    }
    for (size_t i = 0; i < COUNT(heads); i++) {
        struct line l = good(FT, heads[i]);
        assert_int_equal(l.kind, LINE_HEAD);
        assert_int_equal(l.head, i);
        assert_string_equal(l.text, strchr(heads[i], ' ') + 1);
    }
}

static void
a_strike_names_a_row_and_a_half(void **state)
{
    static const struct {
        const char *text;
        uint32_t entry, row;
        enum record_sight sight;
        const char *reason;
    } lines[] = { { "strike 5.3 rod stood on a nail", 5, 3, RECORD_WHOLE_ROW, "rod stood on a nail" },
        { "strike 12 clod", 12, 1, RECORD_WHOLE_ROW, "clod" }, { "strike 5.3 bs wrong rod", 5, 3, RECORD_SIGHT_BS, "wrong rod" },
        { "strike 5.3 FS \"seen\" twice # 2", 5, 3, RECORD_SIGHT_FS, "\"seen\" twice # 2" },
        { "strike 5.3 bs fs exchanged", 5, 3, RECORD_SIGHT_BS, "fs exchanged" }, { "strike 5.3 fsx", 5, 3, RECORD_WHOLE_ROW, "fsx" } };
    (void)state;
    for (size_t i = 0; i < COUNT(lines); i++) {
        struct line l = good(FT, lines[i].text);
        assert_int_equal(l.kind, LINE_STRIKE);
        assert_int_equal(l.entry, lines[i].entry);
        assert_int_equal(l.number, lines[i].row);
        assert_int_equal(l.sight, lines[i].sight);
        assert_string_equal(l.text, lines[i].reason);
    }
}

/* Help and completion name exactly the words that a line may begin with. */
static void
every_word_of_the_list_is_one(void **state)
{
    size_t n = 0;
    (void)state;
    for (; line_words[n]; n++) {
        struct line l;
        struct diag d = { 0 };
        if (line_read(&l, line_words[n], 1, FT, &d) != 0)
            assert_null(strstr(d.item[0].text, "is no word"));
        diag_release(&d);
    }
    assert_int_equal(n, 18);
    for (n = 0; line_on_words[n]; n++)
        assert_int_equal(good(FT, n == 0 ? "is batten A 1.5" : n == 1 ? "is ground A 1.5" : n == 2 ? "is hole A 1.5"
                : n == 3 ? "is post A 1.5" : "is top A 1.5").row.on, n + 1);
    assert_int_equal(n, RECORD_ON_COUNT - 1);
}

/* ---- refusals ---- */

static void
refusals_say_where_and_why(void **state)
{
    static const struct {
        const struct record_job *job;
        const char *text;
        uint32_t column;
        const char *check, *word;
    } bad[] = {
        { FT, "bz BM1 4.62", 1, "line", "nearest is bs" },
        { FT, "  4.62", 3, "line", "help shows all" },
        { FT, "shwo", 1, "line", "nearest is show" },
        { FT, "bs", 3, "line", "which point?" },
        { FT, "is batten", 10, "line", "which point?" },
        { FT, "bs BM1", 7, "line", "no reading stands here" },
        { FT, "bs 4.62", 8, "line", "no reading stands here" },
        { FT, "bs BM1 4,62", 8, "decimal-comma", "4,62" },
        { FT, "bs BM1 x", 8, "number", "x: " },
        { FT, "bs BM1 4.62 3.14", 8, "line", "not as many readings" },
        { FT, "bs BM1 4.62 3.14 2.91 1.08", 8, "line", "not as many readings" },
        { FT, "bs BM1 1 2 3 4 5 6 7", 8, "line", "not as many readings" },
        { FT, "tp TP1 5.87", 8, "line", "one reading stands here" },
        { FT, "tp TP1 5.87 4.15 2.91", 8, "line", "not as many readings" },
        { FT, "tp TP1 4 5/8 in", 8, "line", "one reading stands here" },
        { FT_IN, "tp TP1 4' 7-3/8\"", 8, "line", "one reading stands here" },
        { FT_IN, "tp TP1 4 ft 7 in", 8, "line", "one reading stands here" },
        { FT_IN, "bs STEP 4.62", 9, "needs-unit", "4.62" },
        { FT_IN, "bs STEP 7-3/8", 9, "bare-fraction", "7-3/8" },
        { FT_IN, "bs STEP 4' 13\"", 9, "inches", "4' 13\"" },
        { FT, "bs BM1 1e3", 8, "exponent", "1e3" },
        { FT, "bs BM1 4.62 yd", 13, "unknown-unit", "yd" },
        { FT, "bs BM1 0.0000000001", 8, "too-fine", "" },
        { FT, "bs BM1 13.01", 8, "rod-length", "13.010 is longer than the rod, 13.000" },
        { FT, "tp TP1 5.87 -13.01", 13, "rod-length", "-13.010" },
        { M, "is W1 4.001", 7, "rod-length", "4.001" },
        { M, "bs QA 1.378 1.400 0.998", 7, "three-wire", "middle wire" },
        { M, "tp TP1 1.446 1.401 1.357 1.668 1.732 1.7", 26, "three-wire", "middle wire" },
        { FT, "bs BM1 4.62 far", 13, "unknown-unit", "far" },
        { FT, "bs BM1 4.62 moved far", 19, "line", "behind the readings stand" },
        { FT, "bs BM1 4.62 dist", 17, "line", "no reading stands here" },
        { FT, "bs BM1 4.62 dist 0", 18, "range", "above 0" },
        { FT, "bs BM1 4.62 dist -3", 18, "range", "above 0" },
        { FT, "bs BM1 4.62 dist 3 4", 18, "line", "one length" },
        { FT, "tp TP1 5.87 4.15 dist 84", 23, "line", "two sight lengths" },
        { FT, "bs BM1 4.62 dist 3 dist 4", 20, "line", "dist is said twice" },
        { FT, "bs BM1 4.62 page 2 page 3", 20, "line", "page is said twice" },
        { FT, "bs BM1 4.62 moved moved", 19, "line", "moved is said twice" },
        { FT, "bs BM1 4.62 for 5.3 for 5.3", 21, "line", "for is said twice" },
        { FT, "bs BM1 4.62 page", 17, "count", "page wants" },
        { FT, "bs BM1 4.62 page 0", 18, "count", "page wants" },
        { FT, "bs BM1 4.62 page 1234567890", 18, "count", "page wants" },
        { FT, "bs BM1 4.62 for", 16, "line", "a row is wanted here" },
        { FT, "bs BM1 4.62 for 5.", 17, "line", "a row is wanted here" },
        { FT, "bs BM1 4.62 for 5.3.1", 17, "line", "a row is wanted here" },
        { FT, "bs BM1 4.62 note", 17, "line", "the note's text is wanted" },
        { FT, "bs BM1 4.62 note  \t", 20, "line", "the note's text is wanted" },
        { FT, "bs \"gate post 4.62", 4, "line", "the quote opened here is not closed" },
        { FT, "bs \"\" 4.62", 5, "name", "1 to 80 bytes" },
        { FT, "bs \" A\" 4.62", 5, "name", "no blank at its ends" },
        { FT, "bs \"A \" 4.62", 5, "name", "no blank at its ends" },
        { FT, "bs A\xe2\x80\xae" "B 4.62", 4, "name", "direction character" },
        { FT, "bs \"A\tB\" 4.62", 5, "name", "control" },
        { FT, "undo", 5, "line", "the reason is wanted" },
        { FT, "undo a\xe2\x81\xa6z", 6, "text", "direction character" },
        { FT, "strike", 7, "line", "a row is wanted here" },
        { FT, "strike x why", 8, "line", "a row is wanted here" },
        { FT, "strike 05.1 why", 8, "line", "a row is wanted here" },
        { FT, "strike 5.3", 11, "line", "the reason is wanted" },
        { FT, "strike 5.3 bs", 14, "line", "the reason is wanted" },
        { FT, "by", 3, "line", "initials" },
        { FT, "date 2026-02-30", 6, "date", "2026-02-30" },
        { FT, "date tomorrow", 6, "date", "tomorrow" },
        { FT, "instrument", 11, "line", "the instrument is wanted" },
        { FT, "run now", 5, "line", "nothing stands behind run" },
        { FT, "done 5", 6, "line", "nothing stands behind done" },
        { FT, "bs BM1 4.62 \"note\" x", 14, "number", "note" },
        { FT, "bs \xc3\xa9t\xc3\xa9 4,62", 8, "decimal-comma", "4,62" }, /* columns count characters */
    };
    (void)state;
    for (size_t i = 0; i < COUNT(bad); i++)
        assert_refused(bad[i].job, bad[i].text, bad[i].column, bad[i].check, bad[i].word);
}

/* What one length can be is never taken for two; what can be cut in two ways is asked back. */
static void
lengths_are_never_guessed(void **state)
{
    (void)state;
    struct line l = good(FT, "bs BM1 4 ft 7 3/8 in"); /* and not 4 ft, 7 ft and 3/8 in by three wires */
    assert_int_equal(l.row.bs.wires, 1);
    assert_same(l.row.bs.value, 4 * LENGTH_FT + 59 * LENGTH_IN / 8);
    l = good(FT, "tp TP1 4 ft 7 3/8 in 4 ft 6 3/8 in");
    assert_int_equal(l.row.fs.wires, 1);
    assert_same(l.row.bs.value, 4 * LENGTH_FT + 51 * LENGTH_IN / 8);
    l = good(FT, "tp TP1 4 ft 7 3/8 in 2"); /* 4 ft is one only behind the other three */
    assert_same(l.row.bs.value, 2 * LENGTH_FT);
    assert_refused(FT_IN, "is W1 4 ft 2 in 3 ft 1 in", 7, "line", "in more than one way");
    assert_refused(FT_IN, "is W1 4 ft 2 in 3 ft 1 in dist 40 ft", 7, "line", "each with its own unit");
}

/* ---- hostile lines ---- */

static void
bytes_that_no_line_may_hold(void **state)
{
    static const struct {
        const char *text;
        uint32_t column;
    } bad[] = { { "bs BM1 4.62 note a\001b", 19 }, { "bs BM1 4.62\033[31m", 12 }, { "bs BM\177 4.62", 6 }, { "bs B\xff 4.62", 5 },
        { "bs B\xc3 4.62", 5 }, { "\xef\xbb\xbf" "bs BM1 4.62", 1 }, { "bs B\xed\xa0\x80 4.62", 5 }, { "bs B\xf4\x90\x80\x80 4.62", 5 },
        { "bs B\xc0\xaf 4.62", 5 }, { "undo \xe2\x80\xa8", 6 }, { "# \001", 3 }, { "bs BM1 4.62\r", 12 } };
    (void)state;
    for (size_t i = 0; i < COUNT(bad); i++)
        assert_refused(FT, bad[i].text, bad[i].column, "bytes", "");
}

static void
lines_beyond_any_measure(void **state)
{
    static char text[70000];
    (void)state;
    memset(text, 'x', 60000);
    memcpy(text, "bs ", 3);
    strcpy(text + 60000, " 4.62");
    assert_refused(FT, text, 4, "name", "1 to 80 bytes");
    memset(text, 'x', 60000);
    memcpy(text, "undo ", 5);
    text[60000] = '\0';
    assert_refused(FT, text, 6, "line", "longer than 399 bytes");
    memset(text, ' ', 60000);
    assert_int_equal(good(FT, text).kind, LINE_NOTHING);
    memset(text, '"', 60000);
    assert_refused(FT, text, 97, "line", "no line at the rod has so many words");
    for (size_t i = 0; i < 60000; i += 2)
        memcpy(text + i, "1 ", 2);
    memcpy(text, "tp A", 4);
    assert_refused(FT, text, 99, "line", "no line at the rod has so many words");
    text[90] = '\0'; /* as many as are looked at */
    assert_refused(FT, text, 7, "line", "not as many readings");
    strcpy(text, "bs \"\"\"\"\"\" 4.62");
    assert_refused(FT, text, 5, "name", "");
    for (size_t i = 0; i < 80; i++)
        text[3 + i] = 'n';
    memcpy(text, "bs ", 3);
    strcpy(text + 83, " 4.62");
    assert_int_equal(strlen(good(FT, text).row.at), 80);
    text[83] = 'n';
    assert_refused(FT, text, 4, "name", "");
}

/* ---- chance ---- */

static uint64_t chance_state = 20260502;

/* Knuth's MMIX generator: TAOCP 2, 3rd ed., 3.3.4, table 1, line 26. */
static unsigned
draw(unsigned below)
{
    chance_state = chance_state * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
    return (unsigned)((chance_state >> 33) % below);
}

/* Lines of words, halves of words and bytes: taken, or refused once; never anything else. */
static void
no_line_does_harm(void **state)
{
    static const char *const parts[] = { "bs", "is", "fs", "tp", " ", " ", " ", " ", "\t", "4.62", "3.14", "4'", "7-3/8\"", "7", "3/8", "ft",
        "in", "m", "\"", "dist", "note", "moved", "page", "for", "5.3", "BM1", "batten", "strike", "undo", "date", "by", "#", "\001", "\xff",
        "\xc3\xa9", "-", "'", ",", "2026-05-02", "999999999", "\xf0\x9f\x8c\xb1", "\xe2\x80\xae", ".", "run" };
    size_t taken = 0;
    (void)state;
    for (size_t i = 0; i < 60000; i++) {
        char text[512];
        struct line line;
        struct diag d = { 0 };
        size_t n = 0, words = 1 + draw(14);
        for (size_t k = 0; k < words; k++) {
            const char *part = parts[draw(k == 0 ? 4 : COUNT(parts))];
            n += (size_t)snprintf(text + n, sizeof text - n, "%s%s", part, draw(2) ? " " : "");
        }
        int rc = line_read(&line, text, 1, &jobs[i % 3], &d);
        assert_int_equal(d.n, rc == 0 ? 0 : 1);
        taken += rc == 0;
        diag_release(&d);
    }
    assert_in_range(taken, 100, 30000);
}

/* ---- round trips ---- */

/* Whatever a reader of YAML could take for something else. */
static const char *const names[] = { "BM1", "gate post", "true", "False", "null", "~", "yes", "NO", "on", "off", "y", "n", "1e3", "0x1F", "0777",
    "1_000", ".inf", "NaN", "-", "--", "---", "...", "- a", "? b", "a: b", "a:", ": a", "a #b", "#", "# c", "{x}", "{", "[y]", "]", "*z", "&w",
    "!t", "%d", "@r", "`s", "|", "> f", "'q'", "q'", "'", "\\", "\\n", "a\\", "\\\"x", "12", "12:30", "2026-05-02", "4' 7-3/8\"", "<<", "=", ",",
    "a, b", "bs", "is", "batten", "post", "mark", "note", "moved", "dist", "for", "page", "\xc3\xa9t\xc3\xa9", "e\xcc\x81t\xc3\xa9", "\xe4\xb8\x89\xe5\x8f\xb7\xe6\xa1\xa9",
    "\xe3\x80\x80x", "\xf0\x9f\x8c\xb1 bed", "\xf0\x9f\x91\xa9\xe2\x80\x8d\xf0\x9f\x8c\xbe", "\xd7\xa9\xd7\xa2\xd7\xa8", "a  b", "a \xc2\xa0 b", "\xc2\xa0", "x+y/z (1)", "10 %",
    "12345678901234567890123456789012345678901234567890123456789012345678901234567890" };

static const char *const notes[] = { "", "", "", "bolt in the gate pier", "seen: twice", "a #1 nail", "\"quoted\"", "he said \"no\"", "back\\slash\\",
    "- dash", "{at: BM1, bs: 4.62}", "true", "1e3", "null", "don't", "'", "\"", "\\\"", "%", "& * ! | > @ `", "digest: 0", "--- # 3", "caf\xc3\xa9, e\xcc\x81",
    "\xe4\xba\x94\xe9\x87\x91", "\xf0\x9f\x8c\xb1\xf0\x9f\x8c\xbe", "[1, 2]", "...", "note note", "moved", "  inner   blanks  kept" };

struct spoken {
    char text[48];
    length value;
};

/* A length in nanometres, and one way to say it. */
static struct spoken
say_length(const struct record_job *job, length value)
{
    struct spoken s = { .value = value };
    const char *sign = value < 0 ? "-" : draw(12) == 0 ? "+" : "";
    long long n = (value < 0 ? -value : value) / job->least;
    if (job->unit == LENGTH_BARE_FT)
        snprintf(s.text, sizeof s.text, "%s%lld.%02lld%s", sign, n / 100, n % 100, draw(5) ? "" : draw(2) ? " ft" : "'");
    else if (job->unit == LENGTH_BARE_M)
        snprintf(s.text, sizeof s.text, "%s%lld.%03lld%s", sign, n / 1000, n % 1000, draw(5) ? "" : draw(2) ? " m" : "m");
    else if (n % 16 == 0)
        snprintf(s.text, sizeof s.text, draw(2) ? "%s%lld' %lld\"" : "%s%lld ft %lld in", sign, n / 192, n / 16 % 12);
    else
        snprintf(s.text, sizeof s.text, draw(2) ? "%s%lld' %lld-%lld/16\"" : "%s%lld ft %lld %lld/16 in", sign, n / 192, n / 16 % 12, n % 16);
    return s;
}

struct told {
    const char *name, *note;
    enum line_kind kind;
    enum record_on on;
    bool wires, moved;
    length ahead[3], bs[3], dist_ahead, dist_bs;
    uint32_t page;
};

static void
tell_sight(const struct record_job *job, bool wires, length wire[3], FILE *out)
{
    length upper = (length)(300 + draw(700)) * job->least, half = (length)(2 + draw(120)) * job->least;
    length sign = draw(8) == 0 ? -1 : 1;
    for (int i = 0; i < (wires ? 3 : 1); i++) {
        wire[i] = sign * (upper - i * half + (i == 2 ? (length)draw(2) * job->least : 0));
        fprintf(out, " %s", say_length(job, wire[i]).text);
    }
}

static length
tell_dist(FILE *out)
{
    unsigned m = 1 + draw(120);
    fprintf(out, " %u m", m);
    return (length)m * LENGTH_M;
}

static bool
needs_quotes(const char *name)
{
    for (size_t i = 0; i < RECORD_ON_COUNT; i++)
        if (strcmp(name, record_on_word((enum record_on)i)) == 0)
            return true;
    return strchr(name, ' ') || name[0] == '#' || strcmp(name, "note") == 0;
}

/* One sight at random, and the line that says it. */
static struct told
tell(const struct record_job *job, char *text, size_t room)
{
    static const enum line_kind kinds[] = { LINE_BS, LINE_IS, LINE_FS, LINE_TP };
    static const char *const words[] = { "bs", "is", "fs", "tp" };
    unsigned k = draw(4);
    struct told t = { .kind = kinds[k], .on = (enum record_on)draw(RECORD_ON_COUNT), .wires = draw(4) == 0, .moved = draw(5) == 0,
        .dist_ahead = -1, .dist_bs = -1, .page = draw(6) ? 0 : 1 + draw(99), .note = notes[draw(COUNT(notes))] };
    do
        t.name = names[draw(COUNT(names))];
    while (needs_quotes(t.name) && strchr(t.name, '"')); /* which cannot be said */
    FILE *out = fmemopen(text, room, "w");
    fprintf(out, needs_quotes(t.name) ? "%s %s%s\"%s\"" : "%s %s%s%s", words[k], t.on ? record_on_word(t.on) : "", t.on ? " " : "", t.name);
    if (t.kind != LINE_BS)
        tell_sight(job, t.wires, t.ahead, out);
    if (t.kind == LINE_BS || t.kind == LINE_TP)
        tell_sight(job, t.wires, t.bs, out);
    if (draw(3) == 0) {
        fputs(" dist", out);
        if (t.kind != LINE_BS)
            t.dist_ahead = tell_dist(out);
        if (t.kind == LINE_BS || t.kind == LINE_TP)
            t.dist_bs = tell_dist(out);
    }
    if (t.moved)
        fputs(" moved", out);
    if (t.page)
        fprintf(out, " page %u", t.page);
    if (t.note[0])
        fprintf(out, " note %s", t.note);
    fputc('\0', out);
    fclose(out);
    return t;
}

/* The mean, half away from zero, by other means than the program's. */
static length
mean_of(const length wire[3], bool wires)
{
    long double sum = (long double)wire[0] + (long double)wire[1] + (long double)wire[2];
    return wires ? (length)llroundl(sum / 3) : wire[0];
}

static void
assert_wires(const length got[3], const length want[3])
{
    for (size_t i = 0; i < 3; i++)
        assert_same(got[i], want[i]);
}

static void
assert_row(const struct record *r, const struct record_row *row, const struct told *t)
{
    const struct record_extra *x = record_extra(r, row);
    struct record_dist dist = record_dist_of(r, row);
    bool bs = t->kind == LINE_BS || t->kind == LINE_TP, is = t->kind == LINE_IS, fs = t->kind == LINE_FS || t->kind == LINE_TP;
    const char *note = t->note + strspn(t->note, " ");
    assert_string_equal(names_text(&r->names, row->at), t->name);
    assert_int_equal(row->on, t->on);
    assert_int_equal(row->flags, (bs ? RECORD_HAS_BS : 0) | (is ? RECORD_HAS_IS : 0) | (fs ? RECORD_HAS_FS : 0) | (t->moved ? RECORD_MOVED : 0));
    if (bs)
        assert_same(row->bs, mean_of(t->bs, t->wires));
    if (is || fs)
        assert_same(row->ahead, mean_of(t->ahead, t->wires));
    assert_same(dist.ahead, t->dist_ahead);
    assert_same(dist.bs, t->dist_bs);
    assert_int_equal(x->page, t->page ? t->page : RECORD_NONE);
    if (note[0])
        assert_string_equal(names_text(&r->texts, x->note), note);
    else
        assert_int_equal(x->note, RECORD_NONE);
    assert_int_equal(x->wires != 0, t->wires);
    if (t->wires && bs)
        assert_wires(x->wire_bs, t->bs);
    if (t->wires && (is || fs))
        assert_wires(x->wire_ahead, t->ahead);
}

#define ROWS 200

/* Line, row of text, record: the same again, to the nanometre and to the letter. */
static void
rows_come_back_as_they_were_said(void **state)
{
    static struct told told[ROWS];
    static const char *const heads[] = { "unit: ft\nleast: 0.01\nrod-length: 13\n", "unit: ft-in\nleast: 1/16 in\nrod-length: 13 ft\n",
        "unit: m\nleast: 0.001\nrod-length: 4\n" };
    (void)state;
    for (size_t turn = 0; turn < 105; turn++) {
        const struct record_job *job = &jobs[turn % 3];
        char *bytes = NULL, text[1024];
        size_t n = 0;
        FILE *out = open_memstream(&bytes, &n);
        fprintf(out, "---\njob: Ground\n%s---\n", heads[turn % 3]);
        write_levels(out, &(struct write_head){ .date = "2026-05-02", .weather = "rain: # all day", .observer = "n" }, 0);
        for (size_t i = 0; i < ROWS; i++) {
            told[i] = tell(job, text, sizeof text);
            struct line line = good(job, text);
            assert_int_equal(line.kind, told[i].kind);
            write_row(out, &line.row);
        }
        assert_int_equal(fclose(out), 0);
        struct record r;
        struct diag d = { 0 };
        struct source source = source_of_bytes(bytes, n);
        assert_int_equal(record_read(&r, &source, &d), 0);
        if (d.errors > 0)
            fail_msg("%u:%u: %s\n%s", d.item[0].place.line, d.item[0].place.column, d.item[0].text, bytes);
        assert_int_equal(r.rows, ROWS);
        for (size_t i = 0; i < ROWS; i++)
            assert_row(&r, &r.row[i], &told[i]);
        assert_string_equal(names_text(&r.texts, r.run[0].weather), "rain: # all day");
        assert_string_equal(names_text(&r.texts, r.run[0].observer), "n");
        record_release(&r);
        diag_release(&d);
        free(bytes);
    }
}

/* A strike and a replacement come back too, whatever the reason says. */
static void
strikes_come_back_as_they_were_said(void **state)
{
    (void)state;
    for (size_t i = 0; i < COUNT(notes); i++) {
        char *bytes = NULL, text[600];
        size_t n = 0;
        const char *reason = notes[i][0] ? notes[i] + strspn(notes[i], " ") : "rod";
        FILE *out = open_memstream(&bytes, &n);
        fputs("---\njob: Ground\nunit: ft\nleast: 0.01\n---\n", out);
        write_levels(out, &(struct write_head){ 0 }, 0);
        write_row(out, &(struct write_row){ .at = "BM1", .bs = { .wires = 1, .text = { "4.62" } }, .fs = { .wires = 1, .text = { "3.14" } } });
        fputs("---\n", out);
        snprintf(text, sizeof text, "strike 2.1 bs %s", reason);
        struct line line = good(FT, text);
        write_strike(out, line.entry, line.number, line.sight, line.text);
        fputs("---\n", out);
        write_levels(out, &(struct write_head){ 0 }, 2);
        line = good(FT, "bs BM1 4.26 for 2.1");
        write_row(out, &line.row);
        assert_int_equal(fclose(out), 0);
        struct record r;
        struct diag d = { 0 };
        struct source source = source_of_bytes(bytes, n);
        assert_int_equal(record_read(&r, &source, &d), 0);
        assert_int_equal(d.n, 0);
        assert_string_equal(names_text(&r.texts, r.strike[0].reason), reason);
        assert_int_equal(r.row[0].flags & (RECORD_STRUCK_BS | RECORD_STRUCK_AHEAD), RECORD_STRUCK_BS);
        assert_int_equal(record_extra(&r, &r.row[1])->base, 0);
        record_release(&r);
        diag_release(&d);
        free(bytes);
    }
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_four_sights),
        cmocka_unit_test(capitals_and_blanks_are_no_matter),
        cmocka_unit_test(the_rod_stands_on_each_thing),
        cmocka_unit_test(feet_and_inches_with_blanks),
        cmocka_unit_test(three_wires),
        cmocka_unit_test(what_stands_behind_the_readings),
        cmocka_unit_test(names_that_are_words_stand_in_quotes),
        cmocka_unit_test(lines_that_are_no_sights),
        cmocka_unit_test(a_strike_names_a_row_and_a_half),
        cmocka_unit_test(every_word_of_the_list_is_one),
        cmocka_unit_test(refusals_say_where_and_why),
        cmocka_unit_test(lengths_are_never_guessed),
        cmocka_unit_test(bytes_that_no_line_may_hold),
        cmocka_unit_test(lines_beyond_any_measure),
        cmocka_unit_test(no_line_does_harm),
        cmocka_unit_test(rows_come_back_as_they_were_said),
        cmocka_unit_test(strikes_come_back_as_they_were_said),
    };
    return cmocka_run_group_tests_name("line", tests, NULL, NULL);
}
