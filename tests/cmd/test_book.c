/* test_book.c - booking through a pipe: what is asked, what is not, two bookers, and sessions stopped after every line */
#include "../program.h"

#include "rodbook/job.h"

#include <poll.h>
#include <signal.h>
#include <stdbool.h>

#define COUNT(list) (sizeof(list) / sizeof *(list))

/* ---- what the tests share ---- */

static const char *
file_name(const char *base)
{
    static char name[4][512];
    static unsigned turn;
    const char *build = getenv("BUILD");
    char *out = name[turn++ % 4];
    snprintf(out, sizeof name[0], "%s/%s", build ? build : "build/release", base);
    (void)unlink(out);
    return out;
}

static char *
text_of(const char *file)
{
    FILE *f = fopen(file, "r");
    assert_non_null(f);
    return ran_text(f);
}

static void
assert_said(const char *text, const char *word)
{
    if (!strstr(text, word))
        fail_msg("\"%s\" is not said in:\n%s", word, text);
}

static void
put_file(const char *file, const char *text)
{
    FILE *f = fopen(file, "w");
    assert_non_null(f);
    fputs(text, f);
    assert_int_equal(fclose(f), 0);
}

static const char feet[] = "---\njob: Lamb field\nunit: ft\nleast: 0.01\nrod-length: 13\nallow: {misclosure: 0.02, per: root-setup}\n"
                           "---\nmarks: {BM1: {elevation: 100.000}, BM2: {elevation: 101.240}}\n"
                           "---\ngrade: {name: string, means: finish, for: [batten, post], level: 101.50}\n";
static const char inches[] = "---\njob: Mill Lane\nunit: ft-in\nleast: 1/16 in\nrod-length: 13 ft\n---\nmarks: {STEP: {elevation: 20 ft}}\n";
static const char metres[] = "---\njob: Quay\nunit: m\nleast: 0.001\nrod-length: 4\nallow: {misclosure: 12 mm, per: root-km}\nspread: distance\n"
                             "---\nmarks: {QA: {elevation: 5.214}, QB: {elevation: 4.866}}\n";

static struct ran
book(const char *file, const char *lines)
{
    return RUN_WITH(lines, "book", "--by", "RO", "--date", "2026-05-02", file);
}

/* What stands between the greeting and the word at the end: the answers. */
static char *
answers_of(const struct ran *r)
{
    char *from = strchr(r->out, '\n'), *to = strstr(r->out, " booked this time");
    from = from ? strchr(from + 1, '\n') : NULL;
    assert_true(from && to);
    while (to > from && to[-1] != '\n')
        to--;
    return strndup(from + 1, (size_t)(to - from - 1));
}

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

/* ---- what is asked ---- */

/* The last of the lines draws just this question; NULL: none at all. */
static void
assert_asked(const char *job, const char *lines, const char *question)
{
    const char *file = file_name("book-asked.yaml");
    put_file(file, job);
    struct ran r = book(file, lines);
    assert_string_equal(r.err, "");
    assert_int_equal(r.status, 0); /* a question refuses nothing */
    size_t asked = count_of(r.out, "\n      ? ");
    if (asked != (question != NULL) || (question && !strstr(r.out, question)))
        fail_msg("%s\n%zu asked; wanted: %s\n%s", lines, asked, question ? question : "none", r.out);
    ran_release(&r);
    (void)unlink(file);
}

static void
what_differs_from_before_is_asked_about(void **state)
{
    (void)state;
    assert_asked(feet, "bs BM1 4.62\nis batten W1 3.14\nis batten W1 3.11\n",
        "      ? W1 lies 0.03 higher than when it was read before; if it was moved, undo, and book it with moved\n");
    assert_asked(feet, "bs BM1 4.62\nis batten W1 3.14\nis batten W1 3.16\n", NULL); /* twice the least division */
    assert_asked(feet, "bs BM1 4.62\nis batten W1 3.14\nis batten W1 3.94 moved\n", NULL);
    assert_asked(feet, "bs BM1 4.62\nis ground W1 3.14\nis hole W1 5.37\n", NULL); /* another thing */
    assert_asked(feet, "bs BM1 4.62\nis ground W1 3.14\ntp TP1 4.62 5.12\nis ground W1 4.64\n",
        "      ? W1 lies 1.00 lower than when it was read before, just about 1 ft: look at the foot figure\n");
    assert_asked(feet, "bs BM1 4.62\nis ground W1 3.14\ntp TP1 4.62 5.12\nis ground W1 3.74\n",
        "      ? W1 lies 0.10 lower than when it was read before, just about 0.1 ft: look at the tenths\n");
    assert_asked(inches, "bs STEP 4' 7\"\nis ground W1 3' 2\"\ntp TP1 4' 7\" 4' 7\"\nis ground W1 3' 4\"\n",
        "      ? W1 lies 2\" lower than when it was read before, just about 2 in: look at the inches\n");
}

static void
a_side_shot_off_its_mark_is_asked_about(void **state)
{
    (void)state;
    assert_asked(feet, "bs BM1 4.62\nis BM2 3.43\n", "      ? the mark BM2 reads 0.05 lower than it is given\n");
    assert_asked(feet, "bs BM1 4.62\nis BM2 3.40\n", NULL);
    assert_asked(feet, "bs BM1 4.62\nis BM2 2.38\n",
        "      ? the mark BM2 reads 1.00 higher than it is given, just about 1 ft: look at the foot figure\n");
    assert_asked(metres, "bs QA 1.378\nis QB 1.827\n", "      ? the mark QB reads 0.101 lower than it is given, just about 0.1 m: look at the tenths\n");
}

static void
a_figure_too_fine_is_asked_about(void **state)
{
    (void)state;
    assert_asked(feet, "bs BM1 4.625\n", "      ? the BS is read finer than the rod's least division\n");
    assert_asked(feet, "bs BM1 4.62\nis W1 3.145\n", "      ? the IS is read finer than the rod's least division\n");
    assert_asked(feet, "bs BM1 4.62\ntp TP1 5.871 4.15\n", "      ? the FS is read finer than the rod's least division\n");
    assert_asked(feet, "bs BM1 4.620\n", NULL);
    assert_asked(inches, "bs STEP 4' 7-3/32\"\n", "      ? the BS is read finer");
    assert_asked(metres, "bs QA 1.378 1.1885 0.998\n", "      ? the BS is read finer");
}

static void
what_is_off_its_neighbours_by_a_figure_is_asked_about(void **state)
{
    (void)state;
    assert_asked(feet, "bs BM1 4.62\nis batten W1 3.14\nis batten W2 4.15\n",
        "      ? W2 reads 1.01 more than its neighbours, just about 1 ft: look at the foot figure\n");
    assert_asked(feet, "bs BM1 4.62\nis post W1 3.14\nis post W2 3.12\nis post W3 3.02\n",
        "      ? W3 reads 0.10 less than its neighbours, just about 0.1 ft: look at the tenths\n");
    assert_asked(feet, "bs BM1 4.62\nis batten W1 3.14\nis batten W2 3.24\n", NULL); /* one neighbour is no measure for a tenth */
    assert_asked(feet, "bs BM1 4.62\nis batten W1 3.14\nis batten W2 3.40\nis batten W3 3.50\n", NULL); /* they do not agree */
    assert_asked(feet, "bs BM1 4.62\nis ground W1 3.14\nis ground W2 4.14\n", NULL); /* ground lies as it likes */
    assert_asked(feet, "bs BM1 4.62\nis batten W1 3.14\nis post W2 4.14\n", NULL); /* another kind of thing */
    assert_asked(feet, "bs BM1 4.62\nis batten W1 3.14\ntp TP1 4.62 5.62\nis batten W2 4.14\n", NULL); /* another set-up */
    assert_asked(feet, "bs BM1 4.62\nis batten W1 3.14\nis batten W2 3.66\n", NULL); /* no whole figure */
    assert_asked(inches, "bs STEP 4' 7\"\nis batten W1 3' 2\"\nis batten W2 3' 2-1/16\"\nis batten W3 3' 3-1/16\"\n",
        "      ? W3 reads 1\" more than its neighbours, just about 1 in: look at the inches\n");
    assert_asked(inches, "bs STEP 4' 7\"\nis batten W1 3' 2\"\nis batten W2 4' 2\"\n",
        "      ? W2 reads 1' 0\" more than its neighbours, just about 1 ft: look at the foot figure\n");
    assert_asked(metres, "bs QA 1.378\nis top H1 0.679\nis top H2 1.680\n",
        "      ? H2 reads 1.001 more than its neighbours, just about 1 m: look at the metre figure\n");
    assert_asked(metres, "bs QA 1.378\nis top H1 0.679\nis top H2 0.680\nis top H3 0.780\n",
        "      ? H3 reads 0.100 more than its neighbours, just about 0.1 m: look at the tenths\n");
}

static void
unbalanced_sights_are_asked_about(void **state)
{
    (void)state;
    assert_asked(metres, "bs QA 1.378 dist 41\ntp TP1 1.446 1.732 dist 30.9 33\n",
        "      ? the backsight is 10.1 longer than the foresight; set up midway, or the level's error stays in\n");
    assert_asked(metres, "bs QA 1.378 dist 41\ntp TP1 1.446 1.732 dist 31 33\n", NULL);
    assert_asked(metres, "bs QA 1.378 dist 41\nfs TP1 1.446 dist 60\n", "      ? the backsight is 19.0 shorter than the foresight");
    assert_asked(metres, "bs QA 1.378 dist 41\nis W1 1.446 dist 8\n", NULL); /* a side shot is as long as it is */
    assert_asked(feet, "bs BM1 4.62 dist 120\nfs TP1 5.87 dist 80\n", "      ? the backsight is 40.0 longer than the foresight");
    assert_asked(metres, "bs QA 1.500 1.400 1.300\nfs TP1 1.446 1.411 1.376\n", "      ? the backsight is 13.0 longer"); /* by the wires */
}

static void
half_intervals_that_differ_are_asked_about(void **state)
{
    (void)state;
    assert_asked(metres, "bs QA 1.378 1.188 0.995\n", "      ? the half-intervals of the three wires differ by 0.0030; read them again\n");
    assert_asked(metres, "bs QA 1.378 1.188 0.996\n", NULL);
}

static void
a_run_on_nothing_known_is_asked_about(void **state)
{
    (void)state;
    assert_asked(feet, "bs PEG 4.62\n", "      ? PEG has no known elevation yet; tie the run to a mark before it ends\n");
    assert_asked(feet, "bs PEG 4.62\nis W1 3.14\ntp TP1 5.87 4.15\nfs BM1 2.91\n", "PEG has no known elevation"); /* once, and no more */
}

/* ---- good books ---- */

/* A number as the crew of the survey would have called it. */
static void
put_length(FILE *out, const struct record *r, length v)
{
    static const struct length_style styles[] = { { LENGTH_AS_FT, 2, 0 }, { LENGTH_AS_FT_IN, 0, 16 }, { LENGTH_AS_M, 3, 0 } };
    char text[LENGTH_TEXT];
    length_print(text, v, styles[r->job.unit]);
    fprintf(out, " %s", text);
}

static void
put_sight(FILE *out, const struct record *r, length v, const length wire[3], bool wires)
{
    for (int i = 0; wires && i < 3; i++)
        put_length(out, r, wire[i]);
    if (!wires)
        put_length(out, r, v);
}

static void
put_dist(FILE *out, length ahead, length bs)
{
    const length dist[] = { ahead, bs };
    if (ahead < 0 && bs < 0)
        return;
    fputs(" dist", out);
    for (int i = 0; i < 2; i++)
        if (dist[i] >= 0)
            fprintf(out, " %lld mm", (long long)(dist[i] / LENGTH_MM));
}

/* A row that stands, as a line. */
static void
put_line(FILE *out, const struct record *r, const struct record_row *row)
{
    const struct record_extra *x = record_extra(r, row);
    struct record_dist dist = record_dist_of(r, row);
    bool bs = (row->flags & RECORD_HAS_BS) && !(row->flags & RECORD_STRUCK_BS), ahead = (row->flags & (RECORD_HAS_IS | RECORD_HAS_FS)) != 0;
    fprintf(out, "%s %s \"%s\"", ahead && bs ? "tp" : bs ? "bs" : row->flags & RECORD_HAS_IS ? "is" : "fs", record_on_word((enum record_on)row->on),
        names_text(&r->names, row->at));
    if (ahead)
        put_sight(out, r, row->ahead, x->wire_ahead, (x->wires & (RECORD_HAS_IS | RECORD_HAS_FS)) != 0);
    if (bs)
        put_sight(out, r, row->bs, x->wire_bs, (x->wires & RECORD_HAS_BS) != 0);
    put_dist(out, dist.ahead, dist.bs);
    fprintf(out, "%s", row->flags & RECORD_MOVED ? " moved" : "");
    if (x->page != RECORD_NONE)
        fprintf(out, " page %u", x->page);
    if (x->note != RECORD_NONE)
        fprintf(out, " note %s", names_text(&r->texts, x->note));
    fputc('\n', out);
}

/* Without the places of set-ups, which are not there any more; the text is cut short. */
static void
drop_stands(char *text)
{
    char *out = text;
    for (char *line = text, *next; *line; line = next) {
        next = line + strcspn(line, "\n");
        next += *next == '\n';
        if (strncmp(line, "  set-up ", 9) == 0)
            continue;
        memmove(out, line, (size_t)(next - line));
        out += next - line;
    }
    *out = '\0';
}

/* The survey without what was levelled: job, marks, points, grades, sections. */
static void
put_head(const char *survey, const char *file)
{
    char *text = text_of(survey), *out = text;
    for (char *entry = text, *next; *entry; entry = next) {
        next = strstr(entry + 1, "\n---\n");
        next = next ? next + 1 : entry + strlen(entry);
        if (strstr(entry, "  set-up 16.1") && !strstr(entry + 1, "\n---\n"))
            continue; /* the places of set-ups, and nothing else */
        if (strncmp(entry, "---\nlevels:", 11) == 0 || strncmp(entry, "---\nstrike:", 11) == 0)
            continue;
        memmove(out, entry, (size_t)(next - entry));
        out += next - entry;
    }
    *out = '\0';
    drop_stands(text);
    put_file(file, text);
    free(text);
}

static char *
lines_of(const struct record *r)
{
    char *lines = NULL;
    size_t n = 0;
    FILE *out = open_memstream(&lines, &n);
    for (size_t k = 0; k < r->runs; k++) {
        const struct record_run *run = &r->run[k];
        if (run->sections)
            continue;
        fputs("run\n", out);
        for (uint32_t i = run->first_row; i != RECORD_NONE; i = record_row_next(r, run, i))
            if (!(r->row[i].flags & (RECORD_STRUCK_AHEAD | RECORD_STRUCK_BS)))
                put_line(out, r, &r->row[i]);
    }
    fclose(out);
    return lines;
}

/* From "Closure" on: how it closes, and every elevation; without what names entries. */
static char *
closing_of(const char *file)
{
    struct ran r = RUN("close", file);
    char *from = strstr(r.out, "\nElevations"), *text = from ? strdup(from) : NULL;
    assert_non_null(text);
    ran_release(&r);
    return text;
}

/* The demo surveys, typed in as they were read: nothing is asked, and the same comes out. */
static void
nothing_is_asked_in_a_good_book(void **state)
{
    static const char *const surveys[] = { "surveys/fernhill.yaml", "surveys/mill-lane.yaml", "surveys/quay-nursery.yaml" };
    static const size_t closures[] = { 3, 3, 2 };
    (void)state;
    for (size_t i = 0; i < COUNT(surveys); i++) {
        struct record r;
        struct source source;
        struct diag d = { 0 };
        const char *file = file_name("book-demo.yaml");
        assert_int_equal(source_open(&source, surveys[i], &d), 0);
        assert_int_equal(record_read(&r, &source, &d), 0);
        assert_int_equal(d.n, 0);
        put_head(surveys[i], file);
        char *lines = lines_of(&r);
        struct ran booked = book(file, lines);
        assert_string_equal(booked.err, "");
        assert_int_equal(booked.status, 0);
        if (strstr(booked.out, "\n      ? "))
            fail_msg("%s: %s", surveys[i], strstr(booked.out, "\n      ? "));
        assert_int_equal(count_of(booked.out, "CLOSED."), closures[i]);
        assert_null(strstr(booked.out, "THEY DO NOT AGREE"));
        char *a = closing_of(surveys[i]), *b = closing_of(file);
        assert_string_equal(a, b);
        free(a);
        free(b);
        free(lines);
        ran_release(&booked);
        record_release(&r);
        source_close(&source);
        diag_release(&d);
        (void)unlink(file);
    }
}

/* ---- stopped after every line ---- */

static uint64_t chance_state;

/* Knuth's MMIX generator: TAOCP 2, 3rd ed., 3.3.4, table 1, line 26. */
static unsigned
draw(unsigned below)
{
    chance_state = chance_state * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
    return (unsigned)((chance_state >> 33) % below);
}

static void
random_line(char *line, size_t room)
{
    static const char *const known[] = { "BM1", "BM1", "BM2", "T1", "T2" };
    const char *at = known[draw(5)];
    unsigned dice = draw(20), f = 200 + draw(500), b = 200 + draw(500);
    if (dice < 5)
        snprintf(line, room, "bs %s %u.%02u", at, b / 100, b % 100);
    else if (dice < 10)
        snprintf(line, room, "is batten W%u %u.%02u%s", 1 + draw(5), f / 100, f % 100, draw(6) ? "" : " moved");
    else if (dice < 13)
        snprintf(line, room, "tp %s %u.%02u %u.%02u", at, f / 100, f % 100, b / 100, b % 100);
    else if (dice < 16)
        snprintf(line, room, "fs %s %u.%02u", at, f / 100, f % 100);
    else if (dice < 19)
        snprintf(line, room, "undo called wrong");
    else
        snprintf(line, room, "strike %u.1 not plumb", 4 + draw(12));
}

/* One process a line gives the same answers and the same record as one for all; a line that is refused leaves no trace. */
static void
stopping_after_every_line_changes_nothing(void **state)
{
    size_t refused = 0, taken = 0;
    (void)state;
    for (unsigned seed = 1; seed <= 24; seed++) {
        char lines[2000] = "", parts[20000] = "";
        const char *whole = file_name("book-whole.yaml"), *parted = file_name("book-parted.yaml");
        put_file(whole, feet);
        put_file(parted, feet);
        chance_state = seed * UINT64_C(0x9e3779b97f4a7c15);
        for (size_t i = 0; i < 18; i++) {
            char line[80], *before = text_of(parted);
            random_line(line, sizeof line);
            snprintf(lines + strlen(lines), sizeof lines - strlen(lines), "%s\n", line);
            struct ran r = book(parted, line); /* no line feed at its end: it counts all the same */
            char *answer = answers_of(&r), *after = text_of(parted);
            snprintf(parts + strlen(parts), sizeof parts - strlen(parts), "%s", answer);
            assert_int_equal(r.status, strstr(r.err, "not booked: ") ? 1 : 0);
            if (r.status == 1)
                assert_string_equal(after, before);
            else
                assert_true(strlen(after) > strlen(before) && strncmp(after, before, strlen(before)) == 0);
            refused += r.status == 1;
            taken += r.status == 0;
            free(before);
            free(after);
            free(answer);
            ran_release(&r);
        }
        struct ran r = book(whole, lines);
        char *answers = answers_of(&r), *a = timeless(whole), *b = timeless(parted);
        assert_string_equal(answers, parts);
        assert_string_equal(a, b);
        free(answers);
        free(a);
        free(b);
        ran_release(&r);
        r = RUN("reduce", whole); /* and it can be read */
        assert_null(strstr(r.err, ": error: ") && !strstr(r.err, "[no-benchmark]") ? r.err : NULL);
        ran_release(&r);
        (void)unlink(whole);
        (void)unlink(parted);
    }
    assert_true(refused > 50 && taken > 150);
}

/* The foresight comes home: what follows from that. */
static void
assert_closing(const char *job, const char *lines, const char *closing)
{
    const char *file = file_name("book-closing.yaml");
    put_file(file, job);
    struct ran r = book(file, lines);
    assert_string_equal(r.err, "");
    assert_said(r.out, closing);
    assert_int_equal(count_of(r.out, "CLOSED."), count_of(closing, "CLOSED."));
    ran_release(&r);
    (void)unlink(file);
}

static void
each_closing_says_what_follows(void **state)
{
    static const char by_dist[] = "---\njob: Quay\nunit: m\nleast: 0.001\nallow: {misclosure: 5 mm, per: job}\nspread: distance\n"
                                  "---\nmarks: {QA: {elevation: 5.214}}\n";
    static const char no_limit[] = "---\njob: Quay\nunit: m\nleast: 0.001\n---\nmarks: {QA: {elevation: 5.214}}\n";
    (void)state;
    assert_closing(feet, "bs BM1 4.62\nfs BM1 4.61\n", "misclosure +0.0100 ft, allowed 0.0200 ft: within\n      CLOSED. rodbook stakes ");
    assert_closing(feet, "bs BM1 4.62\nfs BM2 3.30\n", "link BM1 to BM2, 1 set-up: misclosure +0.0800 ft, allowed 0.0200 ft: OUTSIDE\n"
        "      DO NOT MOVE A MARK BY THIS.");
    assert_closing(feet, "bs BM1 4.62\nfs BM1 3.62\n", "misclosure +1.0000 ft, allowed 0.0200 ft: OUTSIDE, just about 1 ft: look at the foot figure\n");
    assert_closing(feet, "bs PEG 4.62\nfs BM1 3.62\n", "link end: BM1 is known, and the line began on nothing known: rodbook close judges the whole\n");
    assert_closing(no_limit, "bs QA 1.378\nfs QA 1.377\n", "misclosure +1.00 mm, not judged\n      CLOSED.");
    assert_closing(metres, "bs QA 1.378\nfs QA 1.377\n", "not judged\n      not every sight says its length, and this job goes by it: the line is not spread\n");
    assert_closing(metres, "bs QA 1.378 dist 40\nfs QA 1.377 dist 40\n", "allowed 3.39 mm: within\n      CLOSED.");
    assert_closing(by_dist, "bs QA 1.378\nfs QA 1.377\n", "allowed 5.00 mm: within\n      not every sight says its length");
}

static void
the_end_says_where_the_job_stands(void **state)
{
    const char *file = file_name("book-end.yaml");
    (void)state;
    put_file(file, feet);
    struct ran r = book(file, "bs BM1 4.62\nis W1\ntp TP1 5.87 4.15\nstrike 5.1 bs wrong rod\ndone\nfs BM1 2.91\n");
    assert_int_equal(r.status, 1);
    assert_said(r.err, "line 2:6: error: not booked: no reading stands here");
    assert_said(r.out, "3 entries booked this time, every one of them in ");
    assert_said(r.out, "; 1 line refused.\nrun of entry 4: row 5.1 is struck, and waits to be booked again\nlast digest, to copy on paper   6: ");
    assert_null(strstr(r.out, "6: 0000 0000"));
    ran_release(&r);
    r = book(file, "");
    assert_int_equal(r.status, 0);
    assert_said(r.out, "0 entries booked this time");
    assert_null(strstr(r.out, "last digest"));
    ran_release(&r);
    (void)unlink(file);
}

static void
a_zero_byte_or_an_endless_line_books_nothing(void **state)
{
    static const char zero[] = "bs BM1 4.62\0 note x\nbs BM1 4.63\n";
    static char endless[80000];
    const char *file = file_name("book-zero.yaml"), *input = file_name("book-input");
    (void)state;
    put_file(file, feet);
    for (int turn = 0; turn < 2; turn++) {
        FILE *f = fopen(input, "w");
        memset(endless, 'x', sizeof endless);
        fwrite(turn ? endless : zero, 1, turn ? sizeof endless : sizeof zero - 1, f);
        assert_int_equal(fclose(f), 0);
        char command[1200];
        const char *build = getenv("BUILD");
        snprintf(command, sizeof command, "%s/rodbook book --date 2026-05-02 %s <%s >/dev/null 2>&1", build ? build : "build/release", file, input);
        int status = system(command); // NOLINT(cert-env33-c)
        assert_int_equal(WEXITSTATUS(status), turn ? 2 : 1);
    }
    char *text = text_of(file);
    assert_int_equal(count_of(text, "bs: "), 1);
    assert_said(text, "bs: 4.63}");
    free(text);
    (void)unlink(file);
    (void)unlink(input);
}

/* ---- two bookers ---- */

struct booker {
    pid_t child;
    FILE *to, *from;
};

static struct booker
booker_open(const char *file)
{
    int in[2], out[2];
    char program[512];
    const char *build = getenv("BUILD");
    snprintf(program, sizeof program, "%s/rodbook", build ? build : "build/release");
    assert_int_equal(pipe2(in, O_CLOEXEC), 0);
    assert_int_equal(pipe2(out, O_CLOEXEC), 0);
    fflush(NULL);
    struct booker b = { .child = fork() };
    if (b.child == 0) {
        dup2(in[0], 0);
        dup2(out[1], 1);
        dup2(out[1], 2);
        execl(program, "rodbook", "book", "--by", "LM", "--date", "2026-05-02", file, (char *)NULL);
        _exit(127);
    }
    close(in[0]);
    close(out[1]);
    b.to = fdopen(in[1], "w");
    b.from = fdopen(out[0], "r");
    assert_true(b.to && b.from);
    setvbuf(b.from, NULL, _IONBF, 0); /* so that poll() sees what is left */
    return b;
}

/* Reads on until a line holds the word; 20 s without a line are a fault. */
static void
booker_hears(struct booker *b, const char *word)
{
    char line[1024];
    struct pollfd p = { fileno(b->from), POLLIN, 0 };
    while (poll(&p, 1, 20000) > 0 && fgets(line, sizeof line, b->from))
        if (strstr(line, word))
            return;
    kill(b->child, SIGKILL);
    fail_msg("never said: %s", word);
}

static void
booker_says(struct booker *b, const char *line, const char *answer)
{
    fprintf(b->to, "%s\n", line);
    fflush(b->to);
    booker_hears(b, answer);
}

static int
booker_close(struct booker *b)
{
    int status = 0;
    fclose(b->to);
    char line[1024];
    while (fgets(line, sizeof line, b->from)) {
    }
    fclose(b->from);
    assert_int_equal(waitpid(b->child, &status, 0), b->child);
    return WEXITSTATUS(status);
}

/* Each keeps to the run that it began. */
static void
two_bookers_keep_to_their_runs(void **state)
{
    const char *file = file_name("book-two.yaml");
    (void)state;
    put_file(file, feet);
    struct booker a = booker_open(file), b = booker_open(file);
    booker_hears(&a, "no run is open");
    booker_hears(&b, "no run is open");
    booker_says(&a, "bs BM1 4.62", "set-up 4.1");
    booker_says(&b, "bs BM2 3.41", "set-up 5.1");
    booker_says(&a, "tp TP1 5.87 4.15", "set-up 4.2");
    booker_says(&b, "is batten W1 3.14", "elevation 101.51");
    booker_says(&a, "undo rod leaned", "run of entry 4: row 6.1 is struck"); /* the record is read again here */
    booker_says(&a, "tp TP1 5.86 4.15", "in the place of the struck row 6.1");
    booker_says(&a, "fs BM1 2.91", "misclosure 0.0000 ft");
    booker_says(&b, "fs BM2 3.42", "someone else has booked or changed something meanwhile"); /* the strike; it is looked at */
    booker_says(&b, "fs BM2 3.42", "loop BM2 to BM2");
    booker_says(&a, "bs BM1 4.70", "set-up 12.1");
    booker_says(&b, "bs BM2 3.50", "set-up 13.1");
    assert_int_equal(booker_close(&a), 0);
    assert_int_equal(booker_close(&b), 1);
    (void)unlink(file);
}

static void
what_another_struck_is_looked_at_first(void **state)
{
    const char *file = file_name("book-others.yaml");
    (void)state;
    put_file(file, feet);
    struct booker a = booker_open(file);
    booker_hears(&a, "no run is open");
    booker_says(&a, "bs BM1 4.62", "set-up 4.1");
    booker_says(&a, "tp TP1 5.87 4.15", "set-up 4.2");
    struct ran r = RUN("strike", "--row=5.1", "--sight=bs", "--reason=wrong rod", "--by=RO", file);
    assert_int_equal(r.status, 0);
    ran_release(&r);
    char *before = text_of(file);
    booker_says(&a, "is batten W1 3.14", "someone else has booked or changed something meanwhile");
    booker_says(&a, "is batten W1 3.14", "the backsight of this set-up is struck");
    char *after = text_of(file);
    assert_string_equal(after, before);
    booker_says(&a, "bs TP1 4.05", "in the place of the struck row 5.1");
    assert_int_equal(booker_close(&a), 1);
    free(before);
    free(after);
    (void)unlink(file);
}

/* A building gives places, and so grades: it is looked at before the next line, and its posts are known then. */
static void
a_building_that_another_gave_is_looked_at_first(void **state)
{
    const char *file = file_name("book-building.yaml"), *site = file_name("book-site.yaml");
    (void)state;
    put_file(file, feet);
    put_file(site, "---\ngrade: {name: string, means: finish, level: 101.50, slope: {fall: 1 in 60, towards: length}}\n"
                   "---\nsite: {length: 24, width: 12, post: 6 in, rows: {A: {wall: front, spacing: 6}}}\n");
    struct booker a = booker_open(file);
    booker_hears(&a, "no run is open");
    booker_says(&a, "bs BM1 4.62", "set-up 4.1");
    struct ran r = RUN("import", site, file);
    assert_int_equal(r.status, 0);
    ran_release(&r);
    booker_says(&a, "is post A3 3.32", "someone else has booked or changed something meanwhile");
    booker_says(&a, "is post A3 3.32", "string: leave"); /* 101.50 - 12 / 60 */
    booker_says(&a, "fs BM1 4.62", "misclosure 0.0000 ft");
    assert_int_equal(booker_close(&a), 1);
    (void)unlink(file);
    (void)unlink(site);
    /* and of a building alone */
    put_file(file, feet);
    put_file(site, "---\nsite: {length: 24, width: 12, post: 6 in, rows: {A: {wall: front, spacing: 6}}}\n");
    a = booker_open(file);
    booker_hears(&a, "no run is open");
    booker_says(&a, "bs BM1 4.62", "set-up 4.1");
    r = RUN("import", site, file);
    assert_int_equal(r.status, 0);
    ran_release(&r);
    booker_says(&a, "is post A3 3.32", "someone else has booked or changed something meanwhile");
    assert_int_equal(booker_close(&a), 1);
    (void)unlink(file);
    (void)unlink(site);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_differs_from_before_is_asked_about),
        cmocka_unit_test(a_side_shot_off_its_mark_is_asked_about),
        cmocka_unit_test(a_figure_too_fine_is_asked_about),
        cmocka_unit_test(what_is_off_its_neighbours_by_a_figure_is_asked_about),
        cmocka_unit_test(unbalanced_sights_are_asked_about),
        cmocka_unit_test(half_intervals_that_differ_are_asked_about),
        cmocka_unit_test(a_run_on_nothing_known_is_asked_about),
        cmocka_unit_test(nothing_is_asked_in_a_good_book),
        cmocka_unit_test(stopping_after_every_line_changes_nothing),
        cmocka_unit_test(each_closing_says_what_follows),
        cmocka_unit_test(the_end_says_where_the_job_stands),
        cmocka_unit_test(a_zero_byte_or_an_endless_line_books_nothing),
        cmocka_unit_test(two_bookers_keep_to_their_runs),
        cmocka_unit_test(what_another_struck_is_looked_at_first),
        cmocka_unit_test(a_building_that_another_gave_is_looked_at_first),
    };
    (void)signal(SIGPIPE, SIG_IGN);
    return cmocka_run_group_tests_name("book", tests, NULL, NULL);
}
