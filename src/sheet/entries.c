/* entries.c - the record in a page: each entry on a line */
#include "parts.h"

#include "rodbook/audit.h"

#include <inttypes.h>

/* Of more entries than both, so many first and last ones are listed: two pages. */
#define FIRST 40
#define LAST 30

/* One entry, as index, and what its own kind keeps elsewhere; NULL where it is not of that kind. */
struct entry {
    const struct record *r;
    uint32_t index;
    const struct record_entry *of;
    const struct record_tape *tape;
    const struct record_set *set;
};

static struct entry
entry_of(const struct record *r, uint32_t index)
{
    struct entry e = { .r = r, .index = index, .of = &r->entry[index] };
    for (size_t i = 0; e.of->kind == RECORD_TAPE && i < r->tapes; i++)
        if (r->tape[i].entry == index)
            e.tape = &r->tape[i];
    for (size_t i = 0; e.of->kind == RECORD_SET_POSTS && i < r->sets; i++)
        if (r->set[i].entry == index)
            e.set = &r->set[i];
    return e;
}

/* ---- what it is ---- */

/* The number of the entry that it adds to; 0 where it adds to none. */
static uint32_t
continued(const struct entry *e)
{
    for (size_t i = 0; i < e->r->continuations; i++)
        if (e->r->continuation[i].entry == e->index)
            return e->r->continuation[i].target;
    return e->tape ? e->tape->continues : 0;
}

/* "row 5 of entry 5 struck" */
static void
put_strike(const struct entry *e, struct remark *what)
{
    for (size_t i = 0; i < e->r->strikes; i++)
        if (e->r->strike[i].entry == e->index)
            remark_add(what, "row %" PRIu32 " of entry %" PRIu32 " struck", e->r->strike[i].target_row, e->r->strike[i].target_entry);
}

static void
put_grade(const struct entry *e, struct remark *what)
{
    for (size_t i = 0; i < e->r->grades; i++)
        if (e->r->grade[i].entry == e->index)
            remark_add(what, "grade %s", names_text(&e->r->names, e->r->grade[i].name));
}

static void
what_words(const struct entry *e, struct remark *what)
{
    static const char *const words[] = { [RECORD_JOB] = "job", [RECORD_MARKS] = "marks", [RECORD_POINTS] = "points", [RECORD_LEVELS] = "levels",
        [RECORD_SECTIONS] = "sections", [RECORD_SEAL] = "seal", [RECORD_PLAN] = "plan", [RECORD_SITE] = "building", [RECORD_TAPE] = "taped lengths",
        [RECORD_HOLES] = "holes", [RECORD_CONCRETE] = "concrete", [RECORD_PAD] = "pad", [RECORD_FAULTY] = "not readable" };
    switch (e->of->kind) {
    case RECORD_STRIKE:
        put_strike(e, what);
        break;
    case RECORD_GRADE:
        put_grade(e, what);
        break;
    case RECORD_SET_POSTS:
        remark_add(what, "set posts%s%s", e->set ? ", row " : "", e->set ? names_text(&e->r->names, e->set->row) : "");
        break;
    default:
        if (continued(e) > 0)
            remark_add(what, "%s, more of entry %" PRIu32, words[e->of->kind], continued(e));
        else
            remark_add(what, "%s", e->of->torn ? "torn" : words[e->of->kind]);
    }
}

/* ---- when, and how much ---- */

/* The day that was measured on, else that of the entry; "" where neither is said. */
static void
day_words(const struct entry *e, char out[SHEET_WORDS])
{
    const struct record *r = e->r;
    uint32_t day = e->tape ? e->tape->date : e->set ? e->set->date : RECORD_NONE;
    if (e->of->head != RECORD_NONE && r->run[e->of->head].entry == e->index)
        day = r->run[e->of->head].date;
    day = day == RECORD_NONE ? e->of->time : day;
    snprintf(out, SHEET_WORDS, "%.10s", day == RECORD_NONE ? "" : names_text(&r->texts, day));
}

#define COUNT_OF(array, n)                                                                                          \
    for (size_t i = 0; i < (n); i++)                                                                                \
        found += (array)[i].entry == e->index

/* "19 rows", "1 mark"; nothing where there is nothing to count. */
static void
count_words(const struct entry *e, char out[SHEET_WORDS])
{
    static const char *const words[] = { [RECORD_MARKS] = "mark", [RECORD_POINTS] = "point", [RECORD_LEVELS] = "row",
        [RECORD_SECTIONS] = "section", [RECORD_TAPE] = "length", [RECORD_SET_POSTS] = "post", [RECORD_PAD] = NULL };
    const char *word = words[e->of->kind];
    size_t found = e->of->rows;
    if (e->of->kind == RECORD_MARKS)
        COUNT_OF(e->r->mark, e->r->marks);
    if (e->of->kind == RECORD_POINTS) {
        COUNT_OF(e->r->point, e->r->points);
        COUNT_OF(e->r->stand, e->r->stands);
    }
    if (e->set)
        found = e->set->posts;
    out[0] = '\0';
    if (word)
        snprintf(out, SHEET_WORDS, "%zu %s%s", found, word, found == 1 ? "" : "s");
}

/* ---- whether it can be altered without a trace ---- */

static const char *
sealed_word(const struct audit *a, const struct entry *e)
{
    uint32_t number = e->index + 1;
    if (e->of->broken || e->of->seal == SEAL_BROKEN)
        return "ALTERED";
    if (number <= a->last_seal.entry)
        return "signed";
    return number <= a->fits_to ? "digest" : "no";
}

/* Rows of it that were struck: "row 5", "rows 5, 7". */
static void
struck_words(const struct audit *a, const struct entry *e, struct remark *struck)
{
    char rows[SHEET_WORDS];
    size_t used = 0, found = 0;
    for (size_t i = 0; i < a->r.strikes; i++) {
        const struct record_strike *s = &a->r.strike[i];
        if (s->target_entry != e->index + 1)
            continue;
        if (used + 24 < sizeof rows)
            used += (size_t)snprintf(rows + used, sizeof rows - used, "%s%" PRIu32, found > 0 ? ", " : "", s->target_row);
        found++;
    }
    if (found > 0)
        remark_add(struck, "row%s %s%s", found == 1 ? "" : "s", rows, used + 24 < sizeof rows ? "" : " ...");
}

/* ---- the table ---- */

static void
entry_row(const struct audit *a, uint32_t index, struct table *t)
{
    struct entry e = entry_of(&a->r, index);
    struct remark what = { 0 }, struck = { 0 };
    char words[SHEET_WORDS];
    put_count(words, (uint64_t)index + 1);
    table_cell(t, words);
    what_words(&e, &what);
    table_cell(t, what.text);
    day_words(&e, words);
    table_cell(t, words);
    table_cell(t, e.of->by == RECORD_NONE ? NULL : names_text(&a->r.texts, e.of->by));
    count_words(&e, words);
    table_cell(t, words);
    table_cell(t, sealed_word(a, &e));
    struck_words(a, &e, &struck);
    table_cell(t, struck.text);
}

/* Those between the first and the last ones, on one line. */
static void
gap_row(const struct record *r, size_t columns, struct table *t)
{
    char words[SHEET_WORDS];
    snprintf(words, sizeof words, "%zu more, entries %d to %zu", r->entries - FIRST - LAST, FIRST + 1, r->entries - LAST);
    table_cell(t, "...");
    table_cell(t, words);
    for (size_t i = 2; i < columns; i++)
        table_cell(t, NULL);
}

int
sheet_entries(const struct audit *a, FILE *out)
{
    static const struct table_column columns[] = { { "entry", true, false }, { "what it is", false, false }, { "day", false, false },
        { "by", false, false }, { "holds", true, false }, { "sealed", false, false }, { "struck", false, false } };
    const size_t n = sizeof columns / sizeof columns[0];
    struct table t;
    bool all = a->r.entries <= FIRST + LAST + 1; /* a line for one is no shorter */
    if (a->r.entries == 0)
        return 0;
    table_open(&t, columns, n);
    for (uint32_t i = 0; i < a->r.entries; i++) {
        if (!all && i == FIRST) {
            gap_row(&a->r, n, &t);
            i = (uint32_t)(a->r.entries - LAST);
        }
        entry_row(a, i, &t);
    }
    fputs("\nEntries\n", out);
    int rc = table_print(&t, out);
    tell_line(out, "  ", "  ", "sealed: signed, below a signature that fits; digest, below a digest that fits but no signature; no, it can be altered "
        "without a trace");
    return rc;
}
