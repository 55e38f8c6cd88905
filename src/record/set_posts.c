/* set_posts.c - posts as they stand after setting */
#include "entries.h"

#include <stdlib.h>
#include <string.h>

/* ---- values ---- */

/* A gap that a crew can mean. */
static void
take_gap(struct reader *in, void *at, const struct field *field)
{
    bool metric = in->r->job.unit == LENGTH_BARE_M;
    length most = metric ? RECORD_GAP_MOST : RECORD_GAP_MOST_FT, value;
    if (!wants_scalar(in, "a length") || !length_of_scalar(in, &value))
        return;
    if (value > most || value < -most)
        complain(in, "set-gap", "%s: %s is more than %s, and a string stands closer to its posts; was another unit meant? "
            "write %s", field->key, events_text(&in->e), metric ? "1 m" : "3 ft", metric ? "140 mm" : "5-1/2 in");
    else
        *(length *)at = value;
}

/* What the string should be off the faces. */
static void
take_stated_gap(struct reader *in, void *at, const struct field *field)
{
    length value = 0;
    size_t errors = in->d->errors;
    take_gap(in, &value, field);
    if (value < 0)
        complain(in, "range", "%s: %s is below 0; the posts' faces should be 0 or more off the string", field->key,
            events_text(&in->e));
    if (in->d->errors == errors)
        *(length *)at = value;
}

/* "3/8 in in 4 ft": both halves with units of their own, for a bare 0.25 in front of "in 4 ft" would be feet. */
static bool
read_lean(const char *text, size_t n, length *rise, length *over)
{
    for (size_t i = 1; i + 4 < n; i++) {
        size_t word = strncmp(text + i, " in ", 4) == 0 ? 4 : strncmp(text + i, " per ", 5) == 0 ? 5 : 0;
        length a, b;
        if (word == 0 || i + word >= n || length_read(text, i, LENGTH_BARE_FT_IN, &a) != LENGTH_OK
            || length_read(text + i + word, n - i - word, LENGTH_BARE_FT_IN, &b) != LENGTH_OK)
            continue;
        if (a < 0 || b <= 0 || a >= b)
            return false;
        *rise = a;
        *over = b;
        return true;
    }
    return false;
}

static bool
lean_of_scalar(struct reader *in, const char *key, length *rise, length *over)
{
    if (!wants_scalar(in, "so much in so much: 3/8 in in 4 ft"))
        return false;
    if (read_lean(events_text(&in->e), events_length(&in->e), rise, over))
        return true;
    complain(in, "lean", "%s: %s is not so much in so much height, both with units, no sign, below 1 in 1; write 3/8 in in 4 ft, "
        "or 5 mm in 1.2 m", key, text_is_plain(events_text(&in->e), events_length(&in->e)) ? events_text(&in->e) : "this");
    return false;
}

/* One way of a lean; field->word_count is that way. */
static void
take_way(struct reader *in, void *at, const struct field *field)
{
    struct record_lean *lean = at;
    struct record_lean one = { .way = (enum record_lean_way)field->word_count };
    if (!lean_of_scalar(in, field->key, &one.rise, &one.over))
        return;
    if (lean->over > 0)
        complain(in, "lean", "a post leans one way along the row (start, end) and one across it (in, out, left, right); "
            "two are given here");
    *lean = one;
}

static void
take_lean(struct reader *in, void *at, const struct field *field)
{
    static const struct field fields[] = {
        { KEY("in"), take_way, offsetof(struct record_set_row, across), false, NULL, RECORD_LEAN_IN },
        { KEY("out"), take_way, offsetof(struct record_set_row, across), false, NULL, RECORD_LEAN_OUT },
        { KEY("left"), take_way, offsetof(struct record_set_row, across), false, NULL, RECORD_LEAN_LEFT },
        { KEY("right"), take_way, offsetof(struct record_set_row, across), false, NULL, RECORD_LEAN_RIGHT },
        { KEY("start"), take_way, offsetof(struct record_set_row, along), false, NULL, RECORD_LEAN_START },
        { KEY("end"), take_way, offsetof(struct record_set_row, along), false, NULL, RECORD_LEAN_END },
    };
    struct record_set_row *row = at;
    struct seen seen;
    if (in->e.event.type == YAML_MAPPING_START_EVENT) {
        (void)fields_read(in, fields, sizeof fields / sizeof fields[0], row, field->key, &seen);
        if (seen.bits == 0 && !seen.faulty)
            diag_say(in->d, DIAG_ERROR, seen.start, "missing-value", "lean says no way: lean: {in: 1/4 in in 4 ft}");
        return;
    }
    row->along = (struct record_lean){ .way = RECORD_LEAN_UNSAID };
    (void)lean_of_scalar(in, field->key, &row->along.rise, &row->along.over);
}

struct tolerance_draft {
    length line, height, plumb_rise, plumb_over;
};

static void
take_plumb(struct reader *in, void *at, const struct field *field)
{
    struct tolerance_draft *t = at;
    length rise, over;
    if (!lean_of_scalar(in, field->key, &rise, &over))
        return;
    if (rise == 0) {
        complain(in, "range", "%s: a tolerance is above 0", field->key);
        return;
    }
    t->plumb_rise = rise;
    t->plumb_over = over;
}

static void
take_tolerance(struct reader *in, void *at, const struct field *field)
{
    static const struct field fields[] = {
        { KEY("line"), take_likely, offsetof(struct tolerance_draft, line), false, NULL, LIKELY_TOLERANCE },
        { KEY("height"), take_likely, offsetof(struct tolerance_draft, height), false, NULL, LIKELY_TOLERANCE },
        { KEY("plumb"), take_plumb, 0, false, NULL, 0 },
    };
    struct seen seen;
    (void)fields_read(in, fields, sizeof fields / sizeof fields[0], at, field->key, &seen);
}

/* ---- one post ---- */

enum { POST_AT, POST_GAP, POST_LOW, POST_HIGH, POST_APART, POST_LEAN, POST_NOTE, POST_FIELDS };

static void
check_post(struct reader *in, const struct record_set_row *row, const struct seen *seen)
{
    const char *name = row->at == RECORD_NONE ? "this post" : names_text(&in->r->names, row->at);
    uint32_t two = seen->bits & (UINT32_C(1) << POST_LOW | UINT32_C(1) << POST_HIGH | UINT32_C(1) << POST_APART);
    if (seen->faulty)
        return;
    if (two != 0 && !row->has_two)
        diag_say(in->d, DIAG_ERROR, seen->start, "set-post",
            "%s: plumb wants two gaps and how far apart up the post they were taken: {low: 5-1/2 in, high: 5-3/4 in, apart: 4 ft}", name);
    else if (!row->has_gap && two == 0 && !seen_field(seen, POST_LEAN))
        diag_say(in->d, DIAG_ERROR, seen->start, "set-post",
            "%s: nothing was measured; write gap: 5-1/2 in, or low, high and apart, or lean, or leave the post out", name);
    if (row->has_two && row->across.over > 0)
        diag_say(in->d, DIAG_ERROR, seen->at[POST_LEAN], "set-post",
            "%s: low and high say how it leans across the row, and so does lean; give one of them", name);
}

static void
check_twice(struct reader *in, size_t first, const struct record_set_row *row)
{
    for (size_t i = first; i < in->r->set_rows && row->at != RECORD_NONE; i++) { /* RECORD_SET_MOST at most */
        const struct record_set_row *other = &in->r->set_row[i];
        if (other->at != row->at)
            continue;
        diag_say(in->d, DIAG_ERROR, row->place, "set-twice",
            "%s is measured twice in one entry; leave one out, or put what was measured later into an entry of its own",
            names_text(&in->r->names, row->at));
        diag_say(in->d, DIAG_NOTE, other->place, NULL, "first measured here");
        return;
    }
}

static void
take_posts(struct reader *in, void *at, const struct field *field)
{
    static const struct field fields[POST_FIELDS] = {
        { KEY("at"), take_name, offsetof(struct record_set_row, at), true, NULL, 0 },
        { KEY("gap"), take_gap, offsetof(struct record_set_row, gap), false, NULL, 0 },
        { KEY("low"), take_gap, offsetof(struct record_set_row, low), false, NULL, 0 },
        { KEY("high"), take_gap, offsetof(struct record_set_row, high), false, NULL, 0 },
        { KEY("apart"), take_likely, offsetof(struct record_set_row, apart), false, NULL, LIKELY_APART },
        { KEY("lean"), take_lean, 0, false, NULL, 0 },
        { KEY("note"), take_text, offsetof(struct record_set_row, note), false, NULL, 0 },
    };
    struct diag_place place = events_place(&in->e);
    size_t first = in->r->set_rows;
    bool crowded = false;
    (void)at;
    (void)field;
    if (!wants_list(in, "rows wants a list of posts: - {at: A1, gap: 5-1/2 in}"))
        return;
    while (events_next(&in->e) && in->e.event.type != YAML_SEQUENCE_END_EVENT) {
        struct record_set_row row = { .at = RECORD_NONE, .note = RECORD_NONE };
        struct seen seen;
        if (!fields_read(in, fields, POST_FIELDS, &row, "a post", &seen))
            return;
        row.place = seen.start;
        row.has_gap = seen_field(&seen, POST_GAP);
        row.has_two = seen_field(&seen, POST_LOW) && seen_field(&seen, POST_HIGH) && seen_field(&seen, POST_APART);
        if (in->r->set_rows - first == RECORD_SET_MOST) {
            if (!crowded)
                diag_say(in->d, DIAG_ERROR, row.place, "range", "a row of more than %d posts; write it as two rows", RECORD_SET_MOST);
            crowded = true;
            continue;
        }
        check_post(in, &row, &seen);
        check_twice(in, first, &row);
        if (!make_room(in, set_row, set_row_room, set_rows))
            return;
        in->r->set_row[in->r->set_rows++] = row;
    }
    if (!in->e.dead && in->r->set_rows == first)
        diag_say(in->d, DIAG_ERROR, place, "missing-value", "rows names no post: - {at: A1, gap: 5-1/2 in}");
}

/* ---- the entry ---- */

/* Bytes of a post's name before its number; all of it where it has none, or is nothing else. */
static size_t
stem(const char *name)
{
    size_t n = strlen(name), k = n;
    while (k > 0 && name[k - 1] >= '0' && name[k - 1] <= '9')
        k--;
    return k > 0 ? k : n;
}

/* The row that all posts are named by, where the entry does not say it. */
/* Posts of the entry share these bytes, and a number stands behind; 0: they do not. */
static size_t
common_stem(const struct record *r, size_t first)
{
    const char *one = names_text(&r->names, r->set_row[first].at);
    size_t bytes = stem(one);
    for (size_t i = first; i < r->set_rows; i++) {
        const char *other = names_text(&r->names, r->set_row[i].at);
        if (one[bytes] == '\0' || stem(other) != bytes || other[bytes] == '\0' || !text_same(one, other, bytes))
            return 0;
    }
    return bytes;
}

/* A row that is named otherwise than two posts or more of it are. */
static void
check_row(struct reader *in, uint32_t row, size_t first, struct diag_place place)
{
    const char *name = names_text(&in->r->names, row), *one = names_text(&in->r->names, in->r->set_row[first].at);
    size_t bytes = common_stem(in->r, first);
    if (in->r->set_rows - first < 2 || bytes == 0 || strncmp(one, name, strlen(name)) == 0)
        return;
    diag_say(in->d, DIAG_WARNING, place, "set-row", "row: %s, and its posts are named as those of row %.*s are, %s and so on; write row: %.*s, "
        "or leave row out", name, (int)bytes, one, one, (int)bytes, one);
}

static uint32_t
row_of_posts(struct reader *in, size_t first, struct diag_place place)
{
    const char *one = names_text(&in->r->names, in->r->set_row[first].at);
    size_t bytes = common_stem(in->r, first);
    if (bytes == 0) {
        diag_say(in->d, DIAG_ERROR, place, "set-row",
            "the names of these posts do not say which row they are (as A1, A2, A3 do); write row: and its name");
        return RECORD_NONE;
    }
    char copy[128];
    memcpy(copy, one, bytes); /* a name has 80 bytes at most; the table may move while it grows */
    uint32_t row = names_number(&in->r->names, copy, bytes);
    in->no_memory |= row == TEXT_NONE;
    return row;
}

/* True where every post of the entry has a name. */
static bool
all_named(const struct record *r, size_t first)
{
    for (size_t i = first; i < r->set_rows; i++)
        if (r->set_row[i].at == RECORD_NONE)
            return false;
    return r->set_rows > first;
}

enum { SET_ROWS, SET_ROW, SET_DATE, SET_GAP, SET_SIGMA, SET_SIDE, SET_TOLERANCE, SET_REVEAL, SET_NOTE, SET_FIELDS };

void
take_set(struct reader *in, void *at, const struct field *field)
{
    static const char *const sides[] = { "out", "in", "left", "right" }; /* enum record_side */
    struct draft {
        uint32_t row, date, side, note;
        length gap, reveal;
        double sigma;
        struct tolerance_draft tolerance;
    } draft = { .row = RECORD_NONE, .date = RECORD_NONE, .side = RECORD_SIDE_UNSAID, .note = RECORD_NONE };
    static const struct field fields[SET_FIELDS] = {
        { KEY("rows"), take_posts, 0, true, NULL, 0 },
        { KEY("row"), take_name, offsetof(struct draft, row), false, NULL, 0 },
        { KEY("date"), take_date, offsetof(struct draft, date), false, NULL, 0 },
        { KEY("gap"), take_stated_gap, offsetof(struct draft, gap), false, NULL, 0 },
        { KEY("sigma"), take_sigma, offsetof(struct draft, sigma), false, NULL, 0 },
        { KEY("side"), take_word, offsetof(struct draft, side), false, sides, 4 },
        { KEY("tolerance"), take_tolerance, offsetof(struct draft, tolerance), false, NULL, 0 },
        { KEY("reveal"), take_likely_signed, offsetof(struct draft, reveal), false, NULL, LIKELY_POST },
        { KEY("note"), take_text, offsetof(struct draft, note), false, NULL, 0 },
    };
    struct seen seen;
    size_t first = in->r->set_rows;
    (void)at;
    if (!fields_read(in, fields, SET_FIELDS, &draft, field->key, &seen))
        return;
    if (!seen_field(&seen, SET_ROW) && all_named(in->r, first))
        draft.row = row_of_posts(in, first, seen.start);
    else if (draft.row != RECORD_NONE && all_named(in->r, first))
        check_row(in, draft.row, first, seen.at[SET_ROW]);
    if (draft.row == RECORD_NONE || !make_room(in, set, set_room, sets))
        return;
    in->r->set[in->r->sets++] = (struct record_set){
        .row = draft.row,
        .date = draft.date,
        .has_gap = seen_field(&seen, SET_GAP),
        .gap = draft.gap,
        .sigma = draft.sigma,
        .side = (enum record_side)draft.side,
        .line = draft.tolerance.line,
        .height = draft.tolerance.height,
        .plumb_rise = draft.tolerance.plumb_rise,
        .plumb_over = draft.tolerance.plumb_over,
        .has_reveal = seen_field(&seen, SET_REVEAL),
        .reveal = draft.reveal,
        .first = (uint32_t)first,
        .posts = (uint32_t)(in->r->set_rows - first),
        .entry = in->entry,
        .place = seen.start,
        .side_place = seen_field(&seen, SET_SIDE) ? seen.at[SET_SIDE] : seen.start,
    };
}
