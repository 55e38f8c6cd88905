#include "rodbook/line.h"

#include "entries.h"

#include <stdlib.h>
#include <string.h>

const char *const line_words[] = { "bs", "is", "fs", "tp", "undo", "strike", "run", "by", "date", "instrument", "observer",
    "rodman", "weather", "note", "show", "stand", "help", "done", NULL };

const char *const line_on_words[] = { "batten", "ground", "hole", "post", "top", NULL };

/* As line_words. */
static const struct {
    enum line_kind kind;
    enum line_head head;
} kinds[] = { { LINE_BS, 0 }, { LINE_IS, 0 }, { LINE_FS, 0 }, { LINE_TP, 0 }, { LINE_UNDO, 0 }, { LINE_STRIKE, 0 },
    { LINE_RUN, 0 }, { LINE_BY, 0 }, { LINE_HEAD, LINE_DATE }, { LINE_HEAD, LINE_INSTRUMENT }, { LINE_HEAD, LINE_OBSERVER },
    { LINE_HEAD, LINE_RODMAN }, { LINE_HEAD, LINE_WEATHER }, { LINE_HEAD, LINE_NOTE }, { LINE_SHOW, 0 }, { LINE_STAND, 0 },
    { LINE_HELP, 0 }, { LINE_DONE, 0 } };

#define WORDS (sizeof kinds / sizeof kinds[0])
#define TOKENS_MOST 48 /* of a line; a turning point on three wires in feet, inches and fractions has 30 */

struct token {
    const char *at;
    size_t n;
    bool quoted; /* and at[n] is what stands between the quotes */
};

struct reading_in { /* the line being read */
    const char *text;
    uint32_t number;
    const struct record_job *job;
    struct diag *d;
    struct token token[TOKENS_MOST];
    size_t tokens;
    size_t at; /* the next token */
};

/* ---- tokens ---- */

static uint32_t
column_of(const struct reading_in *in, const char *at)
{
    uint32_t column = 1;
    for (const char *p = in->text; p < at; p++)
        column += ((unsigned char)*p & 0xc0) != 0x80;
    return column;
}

#define complain_at(in, at, check, ...) \
    diag_say((in)->d, DIAG_ERROR, (struct diag_place){ (in)->number, column_of((in), (at)) }, (check), __VA_ARGS__)

/* Where the token `i` stands, or the line ends. */
static const char *
place_of(const struct reading_in *in, size_t i)
{
    return i < in->tokens ? in->token[i].at - in->token[i].quoted : in->text + strlen(in->text);
}

static bool
is_blank(char c)
{
    return c == ' ' || c == '\t';
}

/* One token at p; where it ends, or NULL: said. A quote opens one only where a token begins: 7-3/8" is no quoted text. */
static const char *
next_token(struct reading_in *in, const char *p)
{
    struct token *t = &in->token[in->tokens++];
    *t = (struct token){ p, 0, *p == '"' };
    if (!t->quoted) {
        while (p[t->n] && !is_blank(p[t->n]))
            t->n++;
        return p + t->n;
    }
    t->at = p + 1;
    const char *close = strchr(t->at, '"');
    if (!close) {
        complain_at(in, p, "line", "the quote opened here is not closed");
        return NULL;
    }
    t->n = (size_t)(close - t->at);
    return close + 1;
}

static bool
same_word(const struct token *t, const char *word)
{
    return !t->quoted && strlen(word) == t->n && strncasecmp(t->at, word, t->n) == 0;
}

/* Words behind the readings. What stands behind `note` is text, and no matter of tokens. */
static bool
is_tail_word(const struct token *t)
{
    static const char *const words[] = { "dist", "moved", "page", "for", "note" };
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++)
        if (same_word(t, words[i]))
            return true;
    return false;
}

/* The text of a line begins behind its first word, or behind the row that a strike names. */
static bool
text_follows(const struct reading_in *in)
{
    const struct token *first = &in->token[0], *last = &in->token[in->tokens - 1];
    if (in->tokens > 1 && same_word(first, "strike"))
        return true;
    if (in->tokens > 1)
        return same_word(last, "note");
    for (size_t i = 0; i < WORDS; i++)
        if (same_word(first, line_words[i]))
            return kinds[i].kind == LINE_UNDO || kinds[i].kind == LINE_BY || kinds[i].kind == LINE_HEAD;
    return false;
}

/* The line as tokens, up to where its text begins. */
static int
split(struct reading_in *in)
{
    const char *p = in->text;
    for (;;) {
        while (is_blank(*p))
            p++;
        if (!*p || *p == '#')
            return 0;
        if (in->tokens == TOKENS_MOST) {
            complain_at(in, p, "line", "no line at the rod has so many words; put a remark behind note");
            return -1;
        }
        p = next_token(in, p);
        if (!p)
            return -1;
        if (text_follows(in))
            return 0;
    }
}

/* ---- text ---- */

/* What stands from `from` to the end, without blanks at its ends; false: said. */
static bool
take_rest(struct reading_in *in, const char *from, const char *what, char *out, size_t room)
{
    while (is_blank(*from))
        from++;
    size_t n = strlen(from);
    while (n > 0 && is_blank(from[n - 1]))
        n--;
    if (n == 0)
        complain_at(in, from, "line", "%s is wanted here", what);
    else if (n >= room)
        complain_at(in, from, "line", "%s is longer than %zu bytes", what, room - 1);
    else {
        memcpy(out, from, n);
        out[n] = '\0';
        for (char *p = out; (p = strchr(p, '\t')) != NULL;)
            *p = ' ';
        if (text_is_plain(out, n))
            return true;
        complain_at(in, from, "text", "%s holds a direction character; write plain text", what);
    }
    return false;
}

static bool
take_name_token(struct reading_in *in, char out[WRITE_NAME])
{
    if (in->at >= in->tokens) {
        complain_at(in, place_of(in, in->at), "line", "which point? write bs BM1 4.62, or is batten SW1 3.14");
        return false;
    }
    const struct token *t = &in->token[in->at++];
    const char *fault = name_fault(t->at, t->n);
    if (fault || t->n >= WRITE_NAME || text_fault(t->at, t->n)) {
        complain_at(in, t->at, "name", "%s", fault ? fault : "a name has no broken characters");
        return false;
    }
    memcpy(out, t->at, t->n);
    out[t->n] = '\0';
    return true;
}

/* Digits as a whole number from 1 on; 0 where they are none. */
static uint32_t
count_of(const char *text, size_t n)
{
    uint32_t v = 0;
    if (n == 0 || n > 9 || text[0] == '0')
        return 0;
    for (size_t i = 0; i < n; i++) {
        if (text[i] < '0' || text[i] > '9')
            return 0;
        v = v * 10 + (uint32_t)(text[i] - '0');
    }
    return v;
}

/* "7.2" as entry 7, row 2; "7" as its first row. */
static bool
take_row_token(struct reading_in *in, uint32_t *entry, uint32_t *row)
{
    const struct token *t = in->at < in->tokens ? &in->token[in->at] : NULL;
    const char *dot = t ? memchr(t->at, '.', t->n) : NULL;
    *entry = t ? count_of(t->at, dot ? (size_t)(dot - t->at) : t->n) : 0;
    *row = dot ? count_of(dot + 1, t->n - (size_t)(dot - t->at) - 1) : 1;
    if (*entry == 0 || *row == 0) {
        complain_at(in, place_of(in, in->at), "line", "a row is wanted here: its entry, or entry.row, as 7 or 5.3");
        return false;
    }
    in->at++;
    return true;
}

/* ---- lengths ---- */

/* Tokens [from, to) with one blank between them. */
static bool
join(const struct reading_in *in, size_t from, size_t to, char out[WRITE_LENGTH])
{
    size_t used = 0;
    for (size_t i = from; i < to; i++) {
        const struct token *t = &in->token[i];
        if (t->quoted || used + t->n + 2 > WRITE_LENGTH)
            return false;
        if (i > from)
            out[used++] = ' ';
        memcpy(out + used, t->at, t->n);
        used += t->n;
    }
    out[used] = '\0';
    return used > 0;
}

static enum length_status
length_of(const struct reading_in *in, size_t from, size_t to, char out[WRITE_LENGTH], length *value)
{
    if (!join(in, from, to, out))
        return LENGTH_EFORM;
    return length_read(out, strlen(out), in->job->unit, value);
}

#define LENGTHS_MOST 6    /* on a line: a turning point on three wires */
#define LENGTH_TOKENS 5   /* of one length: 4 ft 7 3/8 in */

/* Ways to read tokens [at, end) as `k` lengths one after the other, counted up to 2; cut[] is the one way. */
static int
ways(const struct reading_in *in, size_t at, size_t end, size_t k, size_t *cut)
{
    char text[WRITE_LENGTH];
    size_t rest[LENGTHS_MOST];
    length value;
    int found = 0;
    if (k == 0)
        return at == end;
    for (size_t to = at + 1; to <= end && to <= at + LENGTH_TOKENS && found < 2; to++) {
        if (length_of(in, at, to, text, &value) != LENGTH_OK)
            continue;
        int more = ways(in, to, end, k - 1, rest);
        if (more > 0 && found == 0) {
            cut[0] = to;
            memcpy(cut + 1, rest, (k - 1) * sizeof *cut);
        }
        found += more;
    }
    return found;
}

/* Where the readings end: at a word that stands behind them. */
static size_t
lengths_end(const struct reading_in *in)
{
    size_t end = in->at;
    while (end < in->tokens && !is_tail_word(&in->token[end]))
        end++;
    return end;
}

/* What seems to be one length with a slip in it: 4' 13". */
static bool
say_slip(struct reading_in *in, size_t end)
{
    char text[WRITE_LENGTH];
    length value;
    enum length_status s = length_of(in, in->at, end, text, &value);
    if (s == LENGTH_OK || s == LENGTH_EFORM || s == LENGTH_EEMPTY)
        return false;
    complain_at(in, in->token[in->at].at, length_check(s), "%s: %s", text, length_advice(s, in->job->unit));
    return true;
}

/* The first thing that is no length, said as the record says it; false where each is one. */
static bool
say_no_length(struct reading_in *in, size_t end)
{
    char text[WRITE_LENGTH];
    length value;
    for (size_t i = in->at; i < end; i++) {
        enum length_status s = length_of(in, i, i + 1, text, &value);
        if (s == LENGTH_OK)
            continue;
        enum length_status whole = length_of(in, in->at, end, text, &value);
        bool plain = text_is_plain(in->token[i].at, in->token[i].n);
        if (end - in->at > 1 && whole != LENGTH_OK)
            s = whole;
        complain_at(in, in->token[i].at, length_check(s), "%.*s: %s", plain ? (int)in->token[i].n : 0, in->token[i].at,
            length_advice(s, in->job->unit));
        return true;
    }
    return false;
}

/*
 * The lengths that stand here, as many as one of counts[n]: cut[] gets where
 * each ends. How many; 0: said. What can be read as one length is never
 * taken for two.
 */
static size_t
take_lengths(struct reading_in *in, const size_t *counts, size_t n, const char *wanted, size_t *cut)
{
    size_t end = lengths_end(in), one[LENGTHS_MOST];
    const char *at = place_of(in, in->at);
    if (end == in->at) {
        complain_at(in, at, "line", "no reading stands here; %s", wanted);
        return 0;
    }
    if (counts[0] > 1 && ways(in, in->at, end, 1, one) > 0) {
        complain_at(in, at, "line", "one reading stands here; %s", wanted);
        return 0;
    }
    for (size_t i = 0; i < n; i++) {
        int found = ways(in, in->at, end, counts[i], cut);
        if (found == 1)
            return counts[i];
        if (found > 1) {
            complain_at(in, at, "line", "these readings can be taken in more than one way; write each with its own unit");
            return 0;
        }
    }
    bool any = false;
    for (size_t k = 1; k <= LENGTHS_MOST && !any; k++)
        any = ways(in, in->at, end, k, one) > 0;
    if (any ? counts[0] != 1 || !say_slip(in, end) : !say_no_length(in, end))
        complain_at(in, at, "line", "not as many readings as belong here; %s", wanted);
    return 0;
}

/* ---- sights ---- */

static bool
within_rod(struct reading_in *in, size_t token, length value)
{
    static const struct length_style styles[] = { { LENGTH_AS_FT, 3, 0 }, { LENGTH_AS_FT_IN, 0, 64 }, { LENGTH_AS_M, 3, 0 } };
    length most = in->job->rod_length > 0 ? in->job->rod_length : RECORD_ROD_MOST;
    char found[LENGTH_TEXT], rod[LENGTH_TEXT];
    if (value <= most && value >= -most)
        return true;
    length_print(found, value, styles[in->job->unit]);
    length_print(rod, most, styles[in->job->unit]);
    complain_at(in, place_of(in, token), "rod-length", "%s is longer than the rod, %s; read it again", found, rod);
    return false;
}

static bool
fill_sight(struct reading_in *in, struct write_sight *s, int wires, const size_t *cut)
{
    size_t from = in->at;
    s->wires = wires;
    for (int i = 0; i < wires; i++) {
        (void)length_of(in, from, cut[i], s->text[i], &s->wire[i]);
        if (!within_rod(in, from, s->wire[i]))
            return false;
        from = cut[i];
    }
    s->value = wires == 1 ? s->wire[0] : length_divide(s->wire[0] + s->wire[1] + s->wire[2], 1, 3);
    length upper = s->wire[0] - s->wire[1], lower = s->wire[1] - s->wire[2];
    if (wires == 3 && (upper < 0) != (lower < 0)) {
        complain_at(in, place_of(in, in->at), "three-wire",
            "the middle wire does not lie between upper and lower; write upper, middle, lower, or read them again");
        return false;
    }
    in->at = from;
    return true;
}

static bool
take_sights(struct reading_in *in, enum line_kind kind, struct write_row *row)
{
    static const size_t single[] = { 1, 3 }, turn[] = { 2, 6 };
    size_t cut[LENGTHS_MOST];
    struct write_sight *s = kind == LINE_BS ? &row->bs : kind == LINE_IS ? &row->is : &row->fs;
    if (kind != LINE_TP) {
        size_t n = take_lengths(in, single, 2, "one is wanted, or three wires: upper, middle, lower", cut);
        return n > 0 && fill_sight(in, s, (int)n, cut);
    }
    size_t n = take_lengths(in, turn, 2, "a turning point has two: the foresight, then the backsight", cut) / 2;
    return n > 0 && fill_sight(in, s, (int)n, cut) && fill_sight(in, &row->bs, (int)n, cut + n);
}

/* ---- what stands behind the readings ---- */

static bool
fill_dist(struct reading_in *in, struct write_sight *s, size_t end)
{
    (void)length_of(in, in->at, end, s->dist, &s->dist_value);
    if (s->dist_value <= 0) {
        complain_at(in, place_of(in, in->at), "range", "a sight length is above 0");
        return false;
    }
    in->at = end;
    return true;
}

static bool
take_dist(struct reading_in *in, enum line_kind kind, struct write_row *row)
{
    static const size_t one[] = { 1 }, two[] = { 2 };
    size_t cut[LENGTHS_MOST];
    struct write_sight *s = kind == LINE_BS ? &row->bs : kind == LINE_IS ? &row->is : &row->fs;
    if (kind != LINE_TP)
        return take_lengths(in, one, 1, "a sight has one length", cut) > 0 && fill_dist(in, s, cut[0]);
    return take_lengths(in, two, 1, "a turning point has two sight lengths: the foresight's, then the backsight's", cut) > 0
        && fill_dist(in, s, cut[0]) && fill_dist(in, &row->bs, cut[1]);
}

static bool
take_page(struct reading_in *in, struct write_row *row)
{
    row->page = in->at < in->tokens ? count_of(in->token[in->at].at, in->token[in->at].n) : 0;
    if (row->page == 0)
        complain_at(in, place_of(in, in->at), "count", "page wants a whole number from 1 on");
    in->at++;
    return row->page > 0;
}

/* A word behind the readings stands there once. */
static bool
is_new(struct reading_in *in, const struct token *t, bool said)
{
    if (said)
        complain_at(in, t->at, "line", "%.*s is said twice", (int)t->n, t->at);
    return !said;
}

static bool
take_tail(struct reading_in *in, enum line_kind kind, struct write_row *row)
{
    while (in->at < in->tokens) {
        const struct token *t = &in->token[in->at++];
        bool good = true;
        if (same_word(t, "note"))
            return take_rest(in, t->at + t->n, "the note's text", row->note, sizeof row->note);
        if (same_word(t, "dist"))
            good = is_new(in, t, row->bs.dist[0] || row->is.dist[0] || row->fs.dist[0]) && take_dist(in, kind, row);
        else if (same_word(t, "moved"))
            row->moved = good = is_new(in, t, row->moved);
        else if (same_word(t, "page"))
            good = is_new(in, t, row->page > 0) && take_page(in, row);
        else if (same_word(t, "for"))
            good = is_new(in, t, row->for_entry > 0) && take_row_token(in, &row->for_entry, &row->for_row);
        else {
            complain_at(in, t->at, "line", "behind the readings stand dist, moved, page, for or note");
            good = false;
        }
        if (!good)
            return false;
    }
    return true;
}

/* Behind the word: what the rod stood on, where that is said, then the point. */
static bool
take_point(struct reading_in *in, struct write_row *row)
{
    row->on = RECORD_ON_MARK;
    for (size_t i = 0; i < RECORD_ON_COUNT && in->at < in->tokens; i++)
        if (same_word(&in->token[in->at], record_on_word((enum record_on)i))) {
            row->on = (enum record_on)i;
            in->at++;
            break;
        }
    return take_name_token(in, row->at);
}

/* ---- lines ---- */

static bool
take_strike_line(struct reading_in *in, struct line *line)
{
    if (!take_row_token(in, &line->entry, &line->number))
        return false;
    const char *rest = in->token[1].at + in->token[1].n + in->token[1].quoted;
    while (is_blank(*rest))
        rest++;
    struct token word = { rest, strcspn(rest, " \t"), false };
    bool bs = same_word(&word, "bs"), fs = same_word(&word, "fs");
    line->sight = bs ? RECORD_SIGHT_BS : fs ? RECORD_SIGHT_FS : RECORD_WHOLE_ROW;
    return take_rest(in, bs || fs ? rest + word.n : rest, "the reason", line->text, sizeof line->text);
}

static bool
ends_here(struct reading_in *in)
{
    if (in->at < in->tokens)
        complain_at(in, place_of(in, in->at), "line", "nothing stands behind %.*s", (int)in->token[0].n, in->token[0].at);
    return in->at >= in->tokens;
}

static bool
is_date(struct reading_in *in, const char *rest, const char *text)
{
    if (is_day(text, strlen(text)))
        return true;
    complain_at(in, rest + strspn(rest, " \t"), "date", "%s is not a day of the calendar; write 2026-05-02", text);
    return false;
}

static bool
take_line_of(struct reading_in *in, struct line *line)
{
    static const char *const wanted[] = { "a day, as 2026-05-02,", "the instrument", "the observer's name or initials",
        "the rodman's name or initials", "the weather", "the note's text" };
    const char *rest = in->token[0].at + in->token[0].n;
    switch (line->kind) {
    case LINE_BS:
    case LINE_IS:
    case LINE_FS:
    case LINE_TP:
        line->row.bs.dist_value = line->row.is.dist_value = line->row.fs.dist_value = -1;
        return take_point(in, &line->row) && take_sights(in, line->kind, &line->row) && take_tail(in, line->kind, &line->row);
    case LINE_UNDO:
        return take_rest(in, rest, "the reason", line->text, sizeof line->text);
    case LINE_STRIKE:
        return take_strike_line(in, line);
    case LINE_BY:
        return take_rest(in, rest, "the initials of whoever books", line->text, WRITE_NAME);
    case LINE_HEAD:
        return take_rest(in, rest, wanted[line->head], line->text, line->head == LINE_WEATHER || line->head == LINE_NOTE
                ? sizeof line->text : WRITE_NAME) && (line->head != LINE_DATE || is_date(in, rest, line->text));
    case LINE_NOTHING:
    case LINE_RUN:
    case LINE_SHOW:
    case LINE_STAND:
    case LINE_HELP:
    case LINE_DONE:
        break;
    }
    return ends_here(in);
}

static int
unknown_word(struct reading_in *in)
{
    const struct token *t = &in->token[0];
    const char *near = text_nearest(t->at, t->n, line_words, WORDS);
    bool plain = text_is_plain(t->at, t->n) && t->n <= 40;
    if (near)
        complain_at(in, t->at, "line", "%.*s is no word for a line; nearest is %s", plain ? (int)t->n : 0, t->at, near);
    else
        complain_at(in, t->at, "line", "%.*s is no word for a line; a reading is bs, is, tp or fs, then the point: help shows all",
            plain ? (int)t->n : 0, t->at);
    return -1;
}

int
line_read(struct line *line, const char *text, uint32_t number, const struct record_job *job, struct diag *d)
{
    struct reading_in in = { .text = text, .number = number, .job = job, .d = d };
    struct line draft = { 0 };
    size_t word = 0;
    const char *fault = text_fault(text, strlen(text));
    if (fault) {
        complain_at(&in, fault, "bytes", "%s; %s", text_fault_name(fault), text_fault_advice(fault));
        return -1;
    }
    if (split(&in) != 0)
        return -1;
    if (in.tokens == 0) {
        *line = draft;
        return 0;
    }
    while (word < WORDS && !same_word(&in.token[0], line_words[word]))
        word++;
    if (word == WORDS)
        return unknown_word(&in);
    draft.kind = kinds[word].kind;
    draft.head = kinds[word].head;
    in.at = 1;
    if (!take_line_of(&in, &draft))
        return -1;
    *line = draft;
    return 0;
}
