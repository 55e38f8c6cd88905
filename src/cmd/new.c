/* new.c - a job's first entries, asked for one by one or given as options */
#include "cmd.h"
#include "prompt.h"

#include "rodbook/write.h"

#include <inttypes.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>

enum { JOB, PLACE, UNIT, LEAST, ROD_LENGTH, ALLOW, SPREAD, BENCHMARK, GRADE, BY, ANSWERS };

const struct cmd_option cmd_new_options[ANSWERS] = {
    [JOB] = { "job", "NAME", "the job's name; with it nothing is asked" },
    [PLACE] = { "place", "TEXT", "where it is" },
    [UNIT] = { "unit", "UNIT", "ft, ft-in or m: what a bare number means; needed" },
    [LEAST] = { "least", "LENGTH", "smallest division read on the rod; needed" },
    [ROD_LENGTH] = { "rod-length", "LENGTH", "readings beyond it are refused" },
    [ALLOW] = { "allow", "LIMIT", "allowable misclosure: \"0.02 per root-setup\"; also per job, root-km, root-mile" },
    [SPREAD] = { "spread", "HOW", "setups, distance or least-squares" },
    [BENCHMARK] = { "benchmark", "MARK", "name and elevation: \"BM1 100.000\"" },
    [GRADE] = { "grade", "GRADE", "\"string finish 101.50\", or \"... subgrade ...\"; then \"tolerance 1/8 in\" if you like" },
    [BY] = { "by", "INITIALS", "of whoever makes the job" },
};

/* What is asked, in this order; spread is not. A question that may be left empty says so. */
static const struct {
    const char *ask;
    int answer;
    bool needed;
} questions[] = {
    { "the job's name: ", JOB, true },
    { "where it is (or empty): ", PLACE, false },
    { "unit of bare numbers, ft, ft-in or m: ", UNIT, true },
    { "smallest division on the rod, as 0.01 or 1/16 in: ", LEAST, true },
    { "length of the rod (or empty): ", ROD_LENGTH, false },
    { "allowable misclosure, as 0.02 per root-setup (or empty): ", ALLOW, false },
    { "benchmark and its elevation, as BM1 100.000 (or empty): ", BENCHMARK, false },
    { "grade, as string finish 101.50 (or empty): ", GRADE, false },
    { "your initials (or empty): ", BY, false },
};

struct answers {
    char text[ANSWERS][WRITE_NOTE];
};

/* ---- entries ---- */

/* A length, or words that are tried as one: whatever else stands there never reaches the record as YAML. */
static void
put_value(FILE *out, const char *key, const char *text)
{
    if (!text[0])
        return;
    fprintf(out, "%s: ", key);
    if (strspn(text, "0123456789.'\"-+/ abcdefghijklmnopqrstuvwxyz") == strlen(text) && text[0] != '"' && text[0] != '\''
        && text[0] != '-' && text[0] != ' ')
        fputs(text, out);
    else
        write_scalar(out, text);
    fputc('\n', out);
}

static void
put_text(FILE *out, const char *key, const char *text)
{
    if (!text[0])
        return;
    fprintf(out, "%s: ", key);
    write_scalar(out, text);
    fputc('\n', out);
}

/* "0.02 per root-setup" in its two parts. */
static void
put_allow(FILE *out, const char *text)
{
    const char *per = strstr(text, " per ");
    char value[WRITE_NOTE];
    if (!text[0])
        return;
    snprintf(value, sizeof value, "%.*s", (int)(per ? (size_t)(per - text) : strlen(text)), text);
    fputs("allow:\n", out);
    put_value(out, "  misclosure", value);
    put_text(out, "  per", per ? per + strlen(" per ") : "");
}

static void
put_job(FILE *out, const struct answers *a)
{
    put_text(out, "job", a->text[JOB][0] ? a->text[JOB] : "not named yet");
    put_text(out, "place", a->text[PLACE]);
    put_text(out, "unit", a->text[UNIT][0] ? a->text[UNIT] : "m");
    put_value(out, "least", a->text[LEAST][0] ? a->text[LEAST] : "1 mm");
    put_value(out, "rod-length", a->text[ROD_LENGTH]);
    put_allow(out, a->text[ALLOW]);
    put_text(out, "spread", a->text[SPREAD]);
}

/* The first word of a text, or what stands in its quotes; what follows it. */
static const char *
first_word(const char *text, char word[WRITE_NOTE])
{
    bool quoted = *text == '"';
    size_t n = quoted ? strcspn(text + 1, "\"") : strcspn(text, " ");
    snprintf(word, WRITE_NOTE, "%.*s", (int)n, text + quoted);
    text += n + quoted;
    text += quoted && *text == '"';
    return text + strspn(text, " ");
}

static void
put_benchmark(FILE *out, const struct answers *a)
{
    char name[WRITE_NOTE];
    const char *elevation = first_word(a->text[BENCHMARK], name);
    fputs("marks:\n  ", out);
    write_scalar(out, name);
    fputs(":\n", out);
    put_value(out, "    elevation", elevation[0] ? elevation : "\"\"");
}

static void
put_grade(FILE *out, const struct answers *a)
{
    char name[WRITE_NOTE], means[WRITE_NOTE], level[WRITE_NOTE];
    const char *rest = first_word(first_word(a->text[GRADE], name), means), *tolerance = strstr(rest, " tolerance ");
    snprintf(level, sizeof level, "%.*s", (int)(tolerance ? (size_t)(tolerance - rest) : strlen(rest)), rest);
    fputs("grade:\n", out);
    put_text(out, "  name", name);
    put_text(out, "  means", means);
    put_value(out, "  level", level);
    put_value(out, "  tolerance", tolerance ? tolerance + strlen(" tolerance ") : "");
}

/* One entry more on the text; -1 without memory. */
static int
add_entry(struct append_text *t, struct scan_end *at, void (*put)(FILE *, const struct answers *), const struct answers *a,
    unsigned char digest[DIGEST_BYTES])
{
    char *body = NULL;
    size_t n = 0;
    FILE *out = open_memstream(&body, &n);
    if (!out)
        return -1;
    put(out, a);
    write_envelope(out, a->text[BY]);
    int rc = fclose(out) == 0 ? append_compose(t, at, body, n, NULL, digest) : -1;
    free(body);
    return rc;
}

/* The whole record that the answers make. */
static int
compose(const struct answers *a, struct append_text *t, struct scan_end *at, unsigned char digest[DIGEST_BYTES])
{
    *at = append_nowhere();
    if (add_entry(t, at, put_job, a, digest) != 0)
        return -1;
    if (a->text[BENCHMARK][0] && add_entry(t, at, put_benchmark, a, digest) != 0)
        return -1;
    return a->text[GRADE][0] ? add_entry(t, at, put_grade, a, digest) : 0;
}

/* Read what the answers make, as any command would. -1: said. */
static int
try_answers(const struct answers *a, struct diag *d)
{
    struct append_text t = { 0 };
    struct scan_end at;
    struct record r = { 0 };
    unsigned char digest[DIGEST_BYTES];
    if (compose(a, &t, &at, digest) != 0) {
        d->no_memory = true;
    } else {
        struct source source = source_of_bytes(t.bytes, t.n);
        if (record_read(&r, &source, d) != 0)
            d->no_memory = true;
    }
    record_release(&r);
    append_text_release(&t);
    return d->no_memory || d->errors > 0 ? -1 : 0;
}

static void
say_faults(const struct diag *d, const char *before)
{
    for (size_t i = 0; i < d->n; i++)
        fprintf(stderr, "%s%s [%s]\n", before, d->item[i].text, d->item[i].check ? d->item[i].check : "note");
    if (d->no_memory)
        fputs("rodbook new: out of memory [memory]\n", stderr);
}

/* ---- asking ---- */

/* One answer that can stand; false where the input ended. */
static bool
ask_one(struct prompt *p, size_t q, struct answers *a)
{
    for (;;) {
        const char *line;
        struct diag d = { 0 };
        char *answer = a->text[questions[q].answer];
        if (prompt_next(p, questions[q].ask, &line) != PROMPT_LINE)
            return false;
        line += strspn(line, " ");
        size_t n = strlen(line);
        while (n > 0 && line[n - 1] == ' ')
            n--;
        snprintf(answer, WRITE_NOTE, "%.*s", (int)n, line);
        const char *fault = n > 0 ? cmd_text_fault(answer, WRITE_NOTE - 1) : questions[q].needed ? "is needed" : NULL;
        if (fault)
            fprintf(stderr, "    ! this %s\n", fault);
        else if (try_answers(a, &d) == 0)
            return true;
        else
            say_faults(&d, "    ! ");
        diag_release(&d);
        answer[0] = '\0';
        if (!p->terminal)
            return false; /* the next line answers another question */
    }
}

static int
ask_all(struct answers *a)
{
    struct prompt p;
    size_t q = 0;
    if (prompt_open(&p, NULL, NULL) != 0)
        return -1;
    while (q < sizeof questions / sizeof questions[0] && ask_one(&p, q, a))
        q++;
    prompt_close(&p);
    if (q == sizeof questions / sizeof questions[0])
        return 0;
    fputs("rodbook new: the questions were not all answered; nothing is made\n", stderr);
    return -1;
}

static int
take_options(const struct cmd_given *given, struct answers *a)
{
    for (size_t i = 0; i < ANSWERS; i++) {
        const char *fault = given->value[i] ? cmd_text_fault(given->value[i], WRITE_NOTE - 1) : NULL;
        if (fault) {
            fprintf(stderr, "rodbook new: --%s %s\n", cmd_new_options[i].name, fault);
            return -1;
        }
        if (given->value[i])
            snprintf(a->text[i], WRITE_NOTE, "%s", given->value[i]);
    }
    for (size_t q = 0; q < sizeof questions / sizeof questions[0] && given->value[JOB]; q++)
        if (questions[q].needed && !given->value[questions[q].answer]) {
            fprintf(stderr, "rodbook new: with --job, --%s is needed too\n", cmd_new_options[questions[q].answer].name);
            return -1;
        }
    return 0;
}

static int
make(const char *file, const struct answers *a)
{
    struct append_text t = { 0 };
    struct scan_end at;
    struct diag d = { 0 };
    unsigned char digest[DIGEST_BYTES];
    char words[DIGEST_SHORT_TEXT];
    int rc = try_answers(a, &d);
    if (rc != 0) {
        say_faults(&d, "rodbook new: ");
    } else {
        rc = compose(a, &t, &at, digest);
        d.no_memory |= rc != 0;
        if (rc == 0)
            rc = append_create(file, t.bytes, t.n, &d);
        cmd_say(file, &d);
    }
    if (rc == 0) {
        digest_short(words, digest);
        printf("%s is made, with %" PRIu32 " %s; next: rodbook book %s\nlast digest, to copy on paper   %" PRIu32 ": %s\n",
            cmd_file_name(file), at.entries, at.entries == 1 ? "entry" : "entries", cmd_file_name(file), at.entries, words);
    }
    append_text_release(&t);
    diag_release(&d);
    return rc;
}

int
cmd_new(const struct cmd *cmd, int argc, char **argv)
{
    static struct answers a;
    struct cmd_given given;
    struct diag d = { 0 };
    int status = cmd_parse(cmd, argc, argv, &given);
    if (status >= 0)
        return status;
    (void)signal(SIGXFSZ, SIG_IGN); /* a limit on file sizes is told as a full disk is */
    if (append_is_free(given.file, &d) != 0) { /* before anybody answers nine questions for nothing */
        cmd_say(given.file, &d);
        diag_release(&d);
        return EXIT_UNDONE;
    }
    if (take_options(&given, &a) != 0 || (!given.value[JOB] && ask_all(&a) != 0) || make(given.file, &a) != 0)
        return cmd_finish(EXIT_UNDONE);
    return cmd_finish(EXIT_GOOD);
}
