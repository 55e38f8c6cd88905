/* test_pty.c - booking at a terminal: editing, history, completion, windows, signals, and a terminal that is lost */
#include "../terminal.h"

#include <sys/stat.h>

#define COUNT(list) (sizeof(list) / sizeof *(list))

#define LEFT "\033[D"
#define RIGHT "\033[C"
#define UP "\033[A"
#define DOWN "\033[B"
#define BACKSPACE "\177"
#undef CTRL
#define CTRL(letter) ((char)((letter) & 0x1f))
#define TAB "\t"

static const struct terminal_kind usual = { "xterm", "C.UTF-8", 80 };

/* ---- records ---- */

static const char *
new_record(const char *base)
{
    static char name[512];
    const char *build = getenv("BUILD");
    snprintf(name, sizeof name, "%s/%s", build ? build : "build/release", base);
    (void)unlink(name);
    struct ran r = RUN("new", "--job", "Lamb field", "--unit=ft", "--least=0.01", "--rod-length=13", "--allow", "0.02 per root-setup",
        "--benchmark", "BM1 100.000", "--grade", "string finish 101.50", name);
    if (r.status != 0)
        fail_msg("%s%s", r.out, r.err);
    ran_release(&r);
    return name;
}

static char *
text_of(const char *file)
{
    FILE *f = fopen(file, "r");
    assert_non_null(f);
    return ran_text(f);
}

/* Without the lines that say when, and what hangs on that. */
static char *
timeless(const char *file)
{
    char *text = text_of(file), *out = text;
    for (char *line = text, *next; *line; line = next) {
        next = strchrnul(line, '\n');
        next += *next != '\0';
        if (strncmp(line, "time: ", 6) == 0 || strncmp(line, "digest: ", 8) == 0)
            continue;
        memmove(out, line, (size_t)(next - line));
        out += next - line;
    }
    *out = '\0';
    return text;
}

static size_t
count_of(const char *text, const char *word)
{
    size_t n = 0;
    for (const char *p = text; (p = strstr(p, word)) != NULL; p += strlen(word))
        n++;
    return n;
}

/* The record is sound, and holds so many readings: those that were answered, and no other. */
static void
assert_readings(const char *file, size_t n)
{
    char *text = text_of(file);
    assert_int_equal(count_of(text, "    - {at: "), n);
    assert_int_equal(count_of(text, "\ndigest: "), count_of(text, "---\n"));
    free(text);
    struct ran r = RUN("check", file);
    assert_null(strstr(r.err, "[torn]"));
    assert_null(strstr(r.err, " error"));
    ran_release(&r);
}

/* The same lines through a pipe make the same record. */
static void
assert_as_piped(const char *file, const char *lines)
{
    char *at_terminal = timeless(file);
    char other[600];
    snprintf(other, sizeof other, "%s", new_record("pty-piped.yaml"));
    struct ran r = RUN_WITH(lines, "book", "--by", "RO", "--date", "2026-05-02", other);
    ran_release(&r);
    char *piped = timeless(other);
    assert_string_equal(at_terminal, piped);
    free(at_terminal);
    free(piped);
    (void)unlink(other);
}

static struct terminal
book(struct terminal_kind kind, const char *file)
{
    struct terminal t = terminal_open(kind, (const char *const[]){ "book", "--by", "RO", "--date", "2026-05-02", file, NULL });
    terminal_prompt(&t);
    return t;
}

static void
key(struct terminal *t, char c)
{
    terminal_keys(t, (const char[]){ c, '\0' });
}

/* Ctrl-D at an empty line. */
static void
assert_ends(struct terminal *t, const char *last, int status)
{
    terminal_prompt(t);
    key(t, CTRL('D'));
    terminal_expect(t, last);
    assert_int_equal(terminal_wait(t), status);
}

static void
assert_done(struct terminal *t, const char *last)
{
    assert_ends(t, last, 0);
}

/* ---- a loop by hand ---- */

static void
a_loop_is_booked_by_hand(void **state)
{
    char file[600];
    (void)state;
    snprintf(file, sizeof file, "%s", new_record("pty-loop.yaml"));
    struct terminal t = book(usual, file);
    terminal_expect(&t, "help shows the words");
    terminal_line(&t, "bs BM1 4.2" LEFT "6", "HI 104.62, set-up 4.1");        /* a figure put in */
    terminal_line(&t, "is batten SW2" BACKSPACE "1 3.14", "up 1/4 in, grade rod 3.12"); /* rubbed out */
    terminal_keys(&t, "tten SE1 3.20");
    key(&t, CTRL('A'));
    terminal_keys(&t, "is ba");
    key(&t, CTRL('E'));
    terminal_line(&t, "", "SE1 batten  IS 3.20  elevation 101.42");
    terminal_keys(&t, "tp TP1 5.87 4.15 note wrong" LEFT LEFT LEFT LEFT LEFT LEFT LEFT LEFT LEFT LEFT LEFT);
    key(&t, CTRL('K')); /* from here to the end */
    terminal_line(&t, "", "HI 102.90, set-up 4.2");
    terminal_keys(&t, UP UP); /* is batten SE1 3.20, once more from here */
    for (int i = 0; i < 4; i++)
        terminal_keys(&t, BACKSPACE);
    terminal_line(&t, "1.48", "SE1 batten  IS 1.48  elevation 101.42");
    terminal_line(&t, UP UP UP DOWN RIGHT " " BACKSPACE, "inner loop TP1 to TP1"); /* the tp, in error */
    terminal_line(&t, "undo wrong line", "row 9.1 is struck");
    terminal_line(&t, "is batten SE1 1.49", "set-up 4.2 goes on");
    terminal_line(&t, "fs BM1 2.91", "CLOSED.");
    assert_done(&t, "which is known: it is closed");
    assert_non_null(strstr(t.shown + t.seen, "last digest, to copy on paper   12: "));
    terminal_release(&t);
    assert_readings(file, 8);
    assert_as_piped(file, "bs BM1 4.62\nis batten SW1 3.14\nis batten SE1 3.20\ntp TP1 5.87 4.15\nis batten SE1 1.48\n"
        "tp TP1 5.87 4.15\nundo wrong line\nis batten SE1 1.49\nfs BM1 2.91\n");
    (void)unlink(file);
}

/* ---- completion ---- */

static void
words_and_names_are_completed(void **state)
{
    char file[600];
    (void)state;
    snprintf(file, sizeof file, "%s", new_record("pty-complete.yaml"));
    struct ran r = RUN_WITH("bs BM1 4.62\nis batten SW1 3.14\nis batten SW2 3.11\nis \"gate post\" 3.30\nis \xc3\xa9t\xc3\xa9 3.20\n"
        "is \"\xe4\xb8\x89 \xe5\x8f\xb7\" 3.25\n", "book", "--date", "2026-05-02", file);
    assert_int_equal(r.status, 0);
    ran_release(&r);
    struct terminal t = book(usual, file);
    terminal_expect(&t, "help shows the words");
    terminal_expect(&t, "HI 104.62 > ");
    terminal_line(&t, "is bat" TAB "\"gat" TAB "3.30", "gate post batten  IS 3.30"); /* a name with a blank, behind a quote */
    terminal_line(&t, "is BM" TAB "4.62", "BM1  IS 4.62");
    terminal_line(&t, "is \xc3\xa9" TAB "3.21", "\xc3\xa9t\xc3\xa9  IS 3.21");
    terminal_line(&t, "is \"\xe4\xb8\x89" TAB "3.26", "\xe4\xb8\x89 \xe5\x8f\xb7  IS 3.26");
    terminal_keys(&t, "is batten S" TAB); /* SW, as far as both go */
    terminal_keys(&t, TAB);               /* and both */
    terminal_expect(&t, "SW1  SW2  ");
    terminal_line(&t, "2 3.12", "SW2 batten  IS 3.12");
    terminal_keys(&t, "b" TAB);
    terminal_expect(&t, "bs  by  ");
    terminal_line(&t, BACKSPACE "un" TAB "no such name" TAB, "is struck: no such name"); /* undo; no name begins so */
    terminal_line(&t, "is gate" TAB "3.3", "no reading stands here"); /* no quote: a name with a blank is not found */
    terminal_line(&t, "xyz" TAB, "is no word for a line");
    assert_ends(&t, "2 lines refused", 1);
    terminal_release(&t);
    assert_readings(file, 11);
    (void)unlink(file);
}

/* ---- windows ---- */

static void
a_window_may_change_in_the_middle_of_a_line(void **state)
{
    char file[600];
    (void)state;
    snprintf(file, sizeof file, "%s", new_record("pty-window.yaml"));
    struct terminal t = book(usual, file);
    terminal_expect(&t, "help shows the words");
    terminal_expect(&t, "> ");
    terminal_keys(&t, "bs BM1 4.");
    terminal_expect(&t, "bs BM1 4.");
    for (unsigned short columns = 30; columns <= 130; columns += 50) {
        struct winsize size = { .ws_row = 24, .ws_col = columns };
        assert_int_equal(ioctl(t.fd, TIOCSWINSZ, &size), 0); /* the system sends SIGWINCH */
        (void)kill(t.child, SIGWINCH);
    }
    terminal_line(&t, "62", "HI 104.62, set-up 4.1");
    terminal_line(&t, "fs BM1 4.62", "CLOSED.");
    assert_done(&t, "it is closed");
    terminal_release(&t);
    assert_readings(file, 2);
    assert_as_piped(file, "bs BM1 4.62\nfs BM1 4.62\n");
    (void)unlink(file);
}

static void
narrow_wide_and_plain_terminals(void **state)
{
    static const struct terminal_kind kinds[] = { { "xterm", "C.UTF-8", 20 }, { "xterm", "C.UTF-8", 400 }, { "dumb", "C.UTF-8", 80 },
        { NULL, "C.UTF-8", 80 }, { "no-such-terminal", "C.UTF-8", 80 }, { "xterm", "C", 80 }, { "xterm", NULL, 80 },
        { "xterm", "no_SUCH.locale", 80 }, { "xterm", "C.UTF-8", 0 } };
    (void)state;
    for (size_t i = 0; i < COUNT(kinds); i++) {
        char file[600];
        snprintf(file, sizeof file, "%s", new_record("pty-kinds.yaml"));
        struct terminal t = book(kinds[i], file);
        terminal_expect(&t, "help shows the words");
        terminal_expect(&t, "> ");
        terminal_line(&t, "bs BM1 4.62", "HI 104.62, set-up 4.1");
        terminal_line(&t, "is batten \xe4\xb8\x89\xe5\x8f\xb7 3.14 note seen twice, b\xc3\xa9ton, well beyond what twenty columns hold", "elevation 101.48");
        terminal_line(&t, "fs BM1 4.63", "CLOSED.");
        assert_done(&t, "it is closed");
        terminal_release(&t);
        assert_readings(file, 3);
        assert_as_piped(file, "bs BM1 4.62\nis batten \xe4\xb8\x89\xe5\x8f\xb7 3.14 note seen twice, b\xc3\xa9ton, well beyond what twenty columns hold\n"
            "fs BM1 4.63\n");
        (void)unlink(file);
    }
}

/* Bytes that are no UTF-8 are refused, and the session goes on. */
static void
broken_bytes_are_no_name(void **state)
{
    char file[600];
    (void)state;
    snprintf(file, sizeof file, "%s", new_record("pty-bytes.yaml"));
    struct terminal t = book(usual, file);
    terminal_expect(&t, "help shows the words");
    terminal_expect(&t, "> ");
    terminal_line(&t, "bs BM1 4.62", "HI 104.62");
    terminal_line(&t, "is A\xff" "B 3.14", "not booked");
    terminal_line(&t, "is AB 3.14", "AB  IS 3.14");
    assert_ends(&t, "set-up 4.1 is open", 1); /* a line was refused */
    terminal_release(&t);
    assert_readings(file, 2);
    (void)unlink(file);
}

/* ---- many lines at once ---- */

static void
three_hundred_lines_are_pasted(void **state)
{
    static char paste[16000], piped[16000];
    char file[600];
    size_t n = 0, m = 0;
    (void)state;
    snprintf(file, sizeof file, "%s", new_record("pty-paste.yaml"));
    for (size_t i = 0; i < 300; i++) {
        char line[64];
        if (i == 0)
            snprintf(line, sizeof line, "bs BM1 4.62");
        else if (i == 299)
            snprintf(line, sizeof line, "fs BM1 4.61");
        else
            snprintf(line, sizeof line, "is batten W%zu 3.%02zu", i % 40, i % 40 + 10);
        n += (size_t)snprintf(paste + n, sizeof paste - n, "%s\r", line);
        m += (size_t)snprintf(piped + m, sizeof piped - m, "%s\n", line);
    }
    struct terminal t = book(usual, file);
    terminal_expect(&t, "help shows the words");
    terminal_keys(&t, paste);
    terminal_expect(&t, " 303  BM1  FS 4.61");
    terminal_expect(&t, "CLOSED.");
    assert_done(&t, "300 entries booked");
    terminal_release(&t);
    assert_readings(file, 300);
    assert_as_piped(file, piped);
    (void)unlink(file);
}

/* ---- leaving ---- */

static void
done_ends_as_ctrl_d_does(void **state)
{
    char file[600];
    (void)state;
    snprintf(file, sizeof file, "%s", new_record("pty-done.yaml"));
    struct terminal t = book(usual, file);
    terminal_expect(&t, "help shows the words");
    terminal_line(&t, "bs BM1 4.62", "HI 104.62");
    terminal_keys(&t, "done\r");
    terminal_expect(&t, "1 entry booked this time");
    terminal_expect(&t, "set-up 4.1 is open, HI 104.62");
    terminal_expect(&t, "last digest, to copy on paper   4: ");
    assert_int_equal(terminal_wait(&t), 0);
    terminal_release(&t);
    assert_readings(file, 1);
    (void)unlink(file);
}

/* Ctrl-C: an unfinished line is not booked; where the job stands is told. */
static void
ctrl_c_books_no_half_a_line(void **state)
{
    static const char *const begun[] = { "", "is batten SW1 3.1" };
    (void)state;
    for (size_t i = 0; i < COUNT(begun); i++) {
        char file[600];
        snprintf(file, sizeof file, "%s", new_record("pty-interrupt.yaml"));
        struct terminal t = book(usual, file);
        terminal_expect(&t, "help shows the words");
        terminal_line(&t, "bs BM1 4.62", "HI 104.62");
        terminal_expect(&t, "HI 104.62 > ");
        if (begun[i][0]) {
            terminal_keys(&t, begun[i]);
            terminal_expect(&t, begun[i]);
        }
        key(&t, CTRL('C'));
        terminal_expect(&t, "Stopped. A line that was not answered is not booked.");
        terminal_expect(&t, "set-up 4.1 is open, HI 104.62");
        terminal_expect(&t, "last digest, to copy on paper   4: ");
        assert_int_equal(terminal_wait(&t), 1);
        terminal_release(&t);
        assert_readings(file, 1);
        (void)unlink(file);
    }
}

/* The terminal goes away in the middle of a line: what was answered is there, and nothing else. */
static void
a_lost_terminal_loses_nothing_that_was_answered(void **state)
{
    static const char *const begun[] = { "", "is batten SW2 3.1" };
    (void)state;
    for (size_t i = 0; i < COUNT(begun); i++) {
        char file[600];
        snprintf(file, sizeof file, "%s", new_record("pty-lost.yaml"));
        struct terminal t = book(usual, file);
        terminal_expect(&t, "help shows the words");
        terminal_line(&t, "bs BM1 4.62", "HI 104.62");
        terminal_line(&t, "is batten SW1 3.14", "grade rod 3.12");
        terminal_expect(&t, "HI 104.62 > ");
        if (begun[i][0]) {
            terminal_keys(&t, begun[i]);
            terminal_expect(&t, begun[i]);
        }
        terminal_close(&t);
        assert_int_equal(terminal_wait(&t), 2);
        terminal_release(&t);
        assert_readings(file, 2);
        (void)unlink(file);
    }
}

/* SIGTERM and SIGHUP, sent by hand while a line is waited for. */
static void
signals_come_between_lines(void **state)
{
    static const int numbers[] = { SIGTERM, SIGINT, SIGHUP };
    (void)state;
    for (size_t i = 0; i < COUNT(numbers); i++) {
        char file[600];
        snprintf(file, sizeof file, "%s", new_record("pty-signal.yaml"));
        struct terminal t = book(usual, file);
        terminal_expect(&t, "help shows the words");
        terminal_line(&t, "bs BM1 4.62", "HI 104.62");
        terminal_expect(&t, "HI 104.62 > ");
        assert_int_equal(kill(t.child, numbers[i]), 0);
        terminal_expect(&t, "Stopped.");
        terminal_expect(&t, "set-up 4.1 is open");
        assert_int_equal(terminal_wait(&t), numbers[i] == SIGHUP ? 2 : 1);
        terminal_release(&t);
        assert_readings(file, 1);
        (void)unlink(file);
    }
}

/* ---- going on ---- */

static void
started_again_it_goes_on_in_the_set_up(void **state)
{
    char file[600];
    (void)state;
    snprintf(file, sizeof file, "%s", new_record("pty-again.yaml"));
    struct terminal t = book(usual, file);
    terminal_expect(&t, "help shows the words");
    terminal_line(&t, "bs BM1 4.62", "HI 104.62");
    terminal_line(&t, "tp TP1 5.87 4.15", "HI 102.90, set-up 4.2");
    terminal_expect(&t, "HI 102.90 > ");
    key(&t, CTRL('C'));
    assert_int_equal(terminal_wait(&t), 1);
    terminal_release(&t);
    t = book(usual, file);
    terminal_expect(&t, "set-up 4.2 is open, HI 102.90");
    terminal_expect(&t, "HI 102.90 > "); /* and so says the prompt */
    terminal_line(&t, "fs TP2 3.02", "elevation 99.88");
    terminal_expect(&t, "on TP2 > ");
    assert_done(&t, "run of entry 4 stands on TP2; its backsight comes next");
    terminal_release(&t);
    t = book(usual, file);
    terminal_expect(&t, "on TP2 > ");
    terminal_line(&t, "bs TP2 4.00", "HI 103.88, set-up 4.3");
    terminal_line(&t, "undo wrong", "row 7.1 is struck, and waits");
    assert_done(&t, "row 7.1 is struck, and waits");
    terminal_release(&t);
    t = book(usual, file);
    terminal_line(&t, "bs TP2 4.03", "in the place of the struck row 7.1");
    terminal_line(&t, "fs BM1 3.90", "loop BM1 to BM1, 3 set-ups: misclosure +0.0100 ft");
    assert_done(&t, "it is closed");
    terminal_release(&t);
    assert_readings(file, 6);
    (void)unlink(file);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_loop_is_booked_by_hand),
        cmocka_unit_test(words_and_names_are_completed),
        cmocka_unit_test(a_window_may_change_in_the_middle_of_a_line),
        cmocka_unit_test(narrow_wide_and_plain_terminals),
        cmocka_unit_test(broken_bytes_are_no_name),
        cmocka_unit_test(three_hundred_lines_are_pasted),
        cmocka_unit_test(done_ends_as_ctrl_d_does),
        cmocka_unit_test(ctrl_c_books_no_half_a_line),
        cmocka_unit_test(a_lost_terminal_loses_nothing_that_was_answered),
        cmocka_unit_test(signals_come_between_lines),
        cmocka_unit_test(started_again_it_goes_on_in_the_set_up),
    };
    return cmocka_run_group_tests_name("terminal", tests, NULL, NULL);
}
