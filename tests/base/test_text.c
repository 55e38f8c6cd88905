/* Text that a record may hold, names, complaints and sources. */
#include "near.h"

#include "rodbook/diag.h"
#include "rodbook/source.h"
#include "rodbook/text.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static long
fault_at(const char *text, size_t n)
{
    const char *p = text_fault(text, n);
    return p ? (long)(p - text) : -1;
}

#define FAULT(text) fault_at((text), sizeof(text) - 1)

static void
finds_what_a_record_may_not_hold(void **state)
{
    (void)state;
    assert_int_equal(FAULT("readings:\n\t- {at: BM1, bs: 4.62}\n"), -1);
    assert_int_equal(FAULT("Stra\xc3\x9f" "e \xe6\xb0\xb4\xe6\xba\x96 \xf0\x9f\x8c\xb1"), -1);
    assert_int_equal(FAULT("seven\x07"), 5);
    assert_int_equal(FAULT("a long line of plain words, then \x00 a nought"), 33);
    assert_int_equal(FAULT("delete\x7f"), 6);
    assert_int_equal(FAULT("\xef\xbb\xbf---"), 0);     /* byte order mark */
    assert_int_equal(FAULT("a\xc2\x85" "b"), 1);       /* U+0085 */
    assert_int_equal(FAULT("ab\xe2\x80\xa8"), 2);      /* U+2028 */
    assert_int_equal(FAULT("overlong \xc0\xaf"), 9);
    assert_int_equal(FAULT("surrogate \xed\xa0\x80"), 10);
    assert_int_equal(FAULT("cut off \xe6\xb0"), 8);
    assert_int_equal(FAULT("too high \xf4\x90\x80\x80"), 9);
    assert_int_equal(FAULT("latin \xe4"), 6);
}

/* The quick test for whole blocks agrees with the slow one at every length and every byte. */
static void
quick_and_slow_agree(void **state)
{
    char text[200];
    (void)state;
    for (size_t n = 0; n < 140; n += 7)
        for (size_t i = 0; i < n; i += 3)
            for (int c = 0; c < 256; c++) {
                memset(text, 'x', sizeof text);
                text[n / 2] = '\n';
                text[i] = (char)c;
                bool ascii = (c >= 0x20 && c <= 0x7e) || c == '\n';
                assert_int_equal(text_is_ascii(text, n), ascii);
                if (ascii)
                    assert_null(text_fault(text, n));
            }
}

static void
names_are_plain(void **state)
{
    (void)state;
    assert_true(text_is_plain("W1 <& \"post\">", 13));
    assert_true(text_is_plain("\xd8\xb9\xd9\x84\xd8\xa7\xd9\x85\xd8\xa9", 10)); /* Arabic */
    assert_false(text_is_plain("two\nlines", 9));
    assert_false(text_is_plain("\x1b[31mred", 8));
    assert_false(text_is_plain("a\xe2\x80\xae" "b", 5)); /* U+202E turns what follows about */
    assert_false(text_is_plain("a\xe2\x81\xa6" "b", 5)); /* U+2066 */
}

static void
widths_are_columns(void **state)
{
    (void)state;
    assert_int_equal(text_width("W1 batten"), 9);
    assert_int_equal(text_width("Stra\xc3\x9f" "e"), 6);
    assert_int_equal(text_width("\xe6\xb0\xb4\xe6\xba\x96"), 4);  /* two wide letters */
    assert_int_equal(text_width("e\xcc\x81"), 1);                 /* a letter and its accent */
}

static void
offers_the_nearest_word(void **state)
{
    static const char *const words[] = { "readings", "rodman", "observer", "is" };
    (void)state;
    assert_string_equal(text_nearest("reading", 7, words, 4), "readings");
    assert_string_equal(text_nearest("raednigs", 8, words, 4), "readings");
    assert_string_equal(text_nearest("observor", 8, words, 4), "observer");
    assert_string_equal(text_nearest("si", 2, words, 4), "is");
    assert_null(text_nearest("weather", 7, words, 4));
    assert_null(text_nearest("", 0, words, 4));
    assert_null(text_nearest("a word much longer than any key could ever be", 45, words, 4));
}

static void
lists_words_as_far_as_there_is_room(void **state)
{
    static const char *const words[] = { "bs", "fs", "is" };
    const char *many[200];
    char list[TEXT_LIST];
    (void)state;
    assert_string_equal(text_list(list, words, 0), "");
    assert_string_equal(text_list(list, words, 1), "bs");
    assert_string_equal(text_list(list, words, 3), "bs, fs, is");
    for (size_t i = 0; i < 200; i++)
        many[i] = "rod";
    for (size_t n = 1; n <= 200; n++) { /* up to the last word that has room, and beyond */
        text_list(list, many, n);
        size_t length = strlen(list);
        assert_in_range(length, 1, TEXT_LIST - 1);
        if (length < n * 5 - 2)
            assert_string_equal(list + length - 10, ", rod, ...");
        else
            assert_int_equal(length, n * 5 - 2);
    }
    assert_int_equal(strlen(text_list(list, many, 200)), 101 * 5 - 2 + 5);
}

static void
a_name_has_one_number(void **state)
{
    struct names names = { 0 };
    char text[16];
    (void)state;
    assert_int_equal(names_find(&names, "BM1", 3), TEXT_NONE);
    for (int round = 0; round < 2; round++)
        for (uint32_t i = 0; i < 5000; i++) {
            int n = snprintf(text, sizeof text, "P%u", i * 7919 % 5000);
            uint32_t number = names_number(&names, text, (size_t)n);
            assert_int_equal(number, i);
            assert_string_equal(names_text(&names, number), text);
            assert_int_equal(names_find(&names, text, (size_t)n), i);
        }
    assert_int_equal(names.n, 5000);
    assert_int_equal(names_number(&names, "P1", 1), 5000); /* "P": a beginning is another name */
    assert_string_equal(names_text(&names, TEXT_NONE), "");
    names_release(&names);
}

static void
complaints_come_in_order_with_their_notes(void **state)
{
    struct diag d = { 0 };
    (void)state;
    diag_say(&d, DIAG_ERROR, (struct diag_place){ 9, 4 }, "range", "%d is too much", 77);
    diag_say(&d, DIAG_ERROR, (struct diag_place){ 3, 8 }, "duplicate-key", "bs is given twice");
    diag_say(&d, DIAG_NOTE, (struct diag_place){ 2, 8 }, NULL, "first given here");
    diag_say(&d, DIAG_WARNING, (struct diag_place){ 3, 2 }, "torn", "cut off");
    diag_sort(&d);
    assert_string_equal(d.item[0].check, "torn");
    assert_string_equal(d.item[1].check, "duplicate-key");
    assert_string_equal(d.item[2].text, "first given here");
    assert_string_equal(d.item[3].text, "77 is too much");
    assert_int_equal(d.errors, 2);
    diag_drop_from(&d, 0, (struct diag_place){ 3, 8 });
    assert_int_equal(d.n, 1);
    assert_int_equal(d.errors, 0);
    assert_int_equal(d.warnings, 1);
    diag_release(&d);
}

static void
sources_give_parts_and_lines(void **state)
{
    static const char bytes[] = "first\r\nsecond\n\nlast";
    struct source s = source_of_bytes(bytes, sizeof bytes - 1);
    struct source_line at = { 0, 0 };
    char line[32], part[32];
    (void)state;
    assert_int_equal(source_part(&s, 7, part, 6), 6);
    assert_memory_equal(part, "second", 6);
    assert_int_equal(source_part(&s, 15, part, 30), 4);
    assert_int_equal(source_part(&s, 99, part, 30), 0);
    assert_true(source_find_line(&s, &at, 4, line, sizeof line));
    assert_string_equal(line, "last");
    assert_true(source_find_line(&s, &at, 1, line, sizeof line)); /* back again */
    assert_string_equal(line, "first");
    assert_true(source_find_line(&s, &at, 3, line, sizeof line));
    assert_string_equal(line, "");
    assert_false(source_find_line(&s, &at, 5, line, sizeof line));
}

/* A file that shrinks while it is read is an error, not a short record. */
static void
a_file_that_shrinks_is_noticed(void **state)
{
    char name[] = "/tmp/rodbook-source-XXXXXX", part[64];
    struct diag d = { 0 };
    struct source s;
    int fd = mkstemp(name);
    (void)state;
    assert_true(fd >= 0 && write(fd, "a record of some bytes", 22) == 22);
    assert_int_equal(source_open(&s, name, &d), 0);
    assert_int_equal(source_part(&s, 2, part, 64), 20);
    assert_int_equal(ftruncate(fd, 9), 0);
    assert_int_equal(source_part(&s, 2, part, 64), -1);
    source_close(&s);
    close(fd);
    unlink(name);
    assert_int_equal(source_open(&s, name, &d), -1);
    assert_int_equal(d.errors, 1);
    diag_release(&d);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(finds_what_a_record_may_not_hold),
        cmocka_unit_test(quick_and_slow_agree),
        cmocka_unit_test(names_are_plain),
        cmocka_unit_test(widths_are_columns),
        cmocka_unit_test(offers_the_nearest_word),
        cmocka_unit_test(lists_words_as_far_as_there_is_room),
        cmocka_unit_test(a_name_has_one_number),
        cmocka_unit_test(complaints_come_in_order_with_their_notes),
        cmocka_unit_test(sources_give_parts_and_lines),
        cmocka_unit_test(a_file_that_shrinks_is_noticed),
    };
    return cmocka_run_group_tests_name("text", tests, NULL, NULL);
}
