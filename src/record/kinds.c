/* kinds.c - marks, points and grades */
#include "entries.h"

#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

const char *const point_kind_words[RECORD_POINT_KINDS] = { "batten", "post", "corner", "ground", "footing" };

const char *
record_kind_word(enum record_point_kind kind)
{
    return point_kind_words[kind];
}

enum record_point_kind
record_kind_of(const char *word, size_t n)
{
    for (int k = 0; k < RECORD_POINT_KINDS; k++)
        if (strlen(point_kind_words[k]) == n && strncmp(point_kind_words[k], word, n) == 0)
            return (enum record_point_kind)k;
    return RECORD_POINT_KINDS;
}

void
each_named(struct reader *in, const char *wanted, bool (*one)(struct reader *in))
{
    struct diag_place place = events_place(&in->e);
    size_t count = 0;
    if (!wants_mapping(in, wanted))
        return;
    while (events_next(&in->e) && in->e.event.type != YAML_MAPPING_END_EVENT) {
        count++;
        if (!one(in))
            return;
    }
    if (count == 0 && !in->e.dead)
        diag_say(in->d, DIAG_ERROR, place, "missing-value", "%s", wanted);
}

bool
name_then_value(struct reader *in, const char *what, uint32_t *name)
{
    in->key = what;
    *name = RECORD_NONE;
    if (wants_scalar(in, "a name before each value"))
        (void)name_of_scalar(in, name);
    return events_next(&in->e);
}

bool
is_new_name(struct reader *in, uint32_t name, struct diag_place place)
{
    while (name >= in->given_room) {
        size_t before = in->given_room;
        if (!room_one(in, (void **)&in->given, &in->given_room, before, sizeof *in->given))
            return false;
        memset(in->given + before, 0, (in->given_room - before) * sizeof *in->given);
    }
    struct given *last = &in->given[name];
    if (last->entry == in->entry + 1) {
        diag_say(in->d, DIAG_ERROR, place, "duplicate-key", "%s is given twice", names_text(&in->r->names, name));
        diag_say(in->d, DIAG_NOTE, last->place, NULL, "first given here");
        return false;
    }
    *last = (struct given){ in->entry + 1, place };
    return true;
}

struct mark_draft {
    length elevation;
    double sigma;
    uint32_t name, note;
};

static void
take_mark_sigma(struct reader *in, void *at, const struct field *field)
{
    struct mark_draft *draft = at;
    if (sigma_of_scalar(in, field, &draft->sigma))
        return;
    const char *name = draft->name == RECORD_NONE ? "the mark" : names_text(&in->r->names, draft->name);
    complain(in, "range", "sigma of %s: %s is not above 0; leave sigma out, and %s is held as it is given", name,
        events_text(&in->e), draft->name == RECORD_NONE ? "it" : name);
}

static bool
one_mark(struct reader *in)
{
    enum { MARK_ELEVATION, MARK_SIGMA, MARK_NOTE, MARK_FIELDS };
    struct mark_draft draft = { .name = RECORD_NONE };
    static const struct field fields[MARK_FIELDS] = {
        { KEY("elevation"), take_length, offsetof(struct mark_draft, elevation), true, NULL, 0 },
        { KEY("sigma"), take_mark_sigma, 0, false, NULL, 0 },
        { KEY("note"), take_text, offsetof(struct mark_draft, note), false, NULL, 0 },
    };
    struct diag_place place = events_place(&in->e);
    struct seen seen;
    if (!name_then_value(in, "marks", &draft.name) || !fields_read(in, fields, MARK_FIELDS, &draft, "a mark", &seen))
        return false;
    uint32_t name = draft.name;
    if (name == RECORD_NONE || !is_new_name(in, name, place) || !make_room(in, mark, mark_room, marks))
        return true;
    in->r->mark[in->r->marks++] = (struct record_mark){ name, draft.elevation, draft.sigma, in->entry, place };
    return true;
}

void
take_marks(struct reader *in, void *at, const struct field *field)
{
    (void)at;
    (void)field;
    each_named(in, "marks wants names with elevations: BM1: {elevation: 100.000}", one_mark);
}

/* Digits without a leading zero, nine at most; where they end, NULL where there are none. */
static const char *
read_number(const char *p, uint32_t *value)
{
    size_t n = strspn(p, "0123456789");
    if (n == 0 || n > 9 || *p == '0')
        return NULL;
    for (*value = 0; n > 0; n--)
        *value = *value * 10 + (uint32_t)(*p++ - '0');
    return p;
}

/* "set-up 5.1": the word, and the set-up as sheets name it. */
static bool
is_stand(const char *name, struct record_stand *stand)
{
    static const char word[] = "set-up ";
    if (strncmp(name, word, sizeof word - 1) != 0)
        return false;
    const char *p = read_number(name + sizeof word - 1, &stand->setup_entry);
    p = p && *p == '.' ? read_number(p + 1, &stand->setup_number) : NULL;
    return p && !*p;
}

static void
add_stand(struct reader *in, struct record_stand stand, enum record_point_kind kind, bool placed)
{
    const char *name = names_text(&in->r->names, stand.name);
    if (kind != RECORD_POINT_KINDS)
        diag_say(in->d, DIAG_ERROR, stand.place, "setup-point", "%s is where the instrument stood, and has no kind; leave kind out", name);
    else if (!placed)
        diag_say(in->d, DIAG_ERROR, stand.place, "missing-key", "%s is where the instrument stood; give x and y, paced will do", name);
    else if (make_room(in, stand, stand_room, stands))
        in->r->stand[in->r->stands++] = stand;
}

static bool
one_point(struct reader *in)
{
    enum { POINT_X, POINT_Y, POINT_KIND, POINT_NOTE, POINT_FIELDS };
    struct draft {
        length x, y;
        uint32_t kind, note;
    } draft = { .kind = RECORD_POINT_KINDS };
    static const struct field fields[POINT_FIELDS] = {
        { KEY("x"), take_length, offsetof(struct draft, x), false, NULL, 0 },
        { KEY("y"), take_length, offsetof(struct draft, y), false, NULL, 0 },
        { KEY("kind"), take_word, offsetof(struct draft, kind), false, point_kind_words, RECORD_POINT_KINDS },
        { KEY("note"), take_text, offsetof(struct draft, note), false, NULL, 0 },
    };
    struct diag_place place = events_place(&in->e);
    uint32_t name;
    struct seen seen;
    if (!name_then_value(in, "points", &name) || !fields_read(in, fields, POINT_FIELDS, &draft, "a point", &seen))
        return false;
    bool x = seen_field(&seen, POINT_X), y = seen_field(&seen, POINT_Y);
    if (x != y && !seen.faulty)
        diag_say(in->d, DIAG_ERROR, seen.start, "missing-key", "a point has both x and y, or neither");
    if (name == RECORD_NONE || !is_new_name(in, name, place))
        return true;
    struct record_stand stand = { .name = name, .x = draft.x, .y = draft.y, .entry = in->entry, .place = place };
    if (is_stand(names_text(&in->r->names, name), &stand)) {
        if (x == y && !seen.faulty)
            add_stand(in, stand, (enum record_point_kind)draft.kind, x);
        return true;
    }
    if (!make_room(in, point, point_room, points))
        return true;
    in->r->point[in->r->points++] = (struct record_point){ name, draft.x, draft.y, x && y,
        false, (enum record_point_kind)draft.kind, in->entry, place };
    return true;
}

void
take_points(struct reader *in, void *at, const struct field *field)
{
    (void)at;
    (void)field;
    each_named(in, "points wants names with places: W1: {x: 0, y: 6, kind: post}", one_point);
}

static void
take_serves(struct reader *in, void *at, const struct field *field)
{
    const struct field one = { field->key, field->bytes, take_word, 0, false, point_kind_words, RECORD_POINT_KINDS };
    uint32_t *bits = at, kind = RECORD_POINT_KINDS;
    *bits = 0;
    if (in->e.event.type == YAML_SCALAR_EVENT) {
        take_word(in, &kind, &one);
        *bits = UINT32_C(1) << kind;
        return;
    }
    struct diag_place place = events_place(&in->e);
    if (!wants_list(in, "for wants kinds of point: [batten, post]"))
        return;
    while (events_next(&in->e) && in->e.event.type != YAML_SEQUENCE_END_EVENT) {
        take_word(in, &kind, &one);
        *bits |= UINT32_C(1) << kind;
    }
    if (*bits == 0 && !in->e.dead)
        diag_say(in->d, DIAG_ERROR, place, "missing-value", "%s names no kind of point", field->key);
}

/* ---- through ---- */

struct through_draft {
    uint32_t at, on;
    length plus;
};

struct through_list {
    struct record_through at[3];
    uint32_t n;
};

static bool
one_through(struct reader *in, struct record_through *out)
{
    static const struct field fields[] = {
        { KEY("at"), take_name, offsetof(struct through_draft, at), true, NULL, 0 },
        { KEY("on"), take_word, offsetof(struct through_draft, on), false, on_words, RECORD_ON_COUNT },
        { KEY("plus"), take_length, offsetof(struct through_draft, plus), false, NULL, 0 },
    };
    struct through_draft draft = { RECORD_NONE, RECORD_ON_MARK, 0 };
    struct seen seen;
    bool whole = fields_read(in, fields, 3, &draft, "through", &seen);
    *out = (struct record_through){ draft.at, (enum record_on)draft.on, draft.plus };
    return whole;
}

static void
take_through(struct reader *in, void *at, const struct field *field)
{
    struct through_list *list = at;
    if (in->e.event.type != YAML_SEQUENCE_START_EVENT) {
        list->n = 1;
        (void)one_through(in, &list->at[0]);
        return;
    }
    struct diag_place place = events_place(&in->e);
    while (events_next(&in->e) && in->e.event.type != YAML_SEQUENCE_END_EVENT) {
        struct record_through one;
        if (!one_through(in, &one))
            return;
        if (list->n < 3)
            list->at[list->n] = one;
        list->n++;
    }
    if (list->n != 3 && !in->e.dead)
        diag_say(in->d, DIAG_ERROR, place, "through", "%s lists %" PRIu32 "; a plane goes through three marks in a "
            "list, a level or a slope through one without a list: {at: NAME}", field->key, list->n);
    list->n = 3;
}

/* ---- slope ---- */

struct ratio {
    int64_t over, under;
};

static int64_t
common_divisor(int64_t a, int64_t b)
{
    while (b != 0) {
        int64_t rest = a % b;
        a = b;
        b = rest;
    }
    return a > 0 ? a : 1;
}

/* A plain decimal as a length in metres, so that its digits are exact: 0.8 is 0.8e9. */
static bool
plain_decimal(const char *text, size_t n, length *value)
{
    for (size_t i = 0; i < n; i++)
        if (!strchr("0123456789.", text[i]))
            return false;
    return length_read(text, n, LENGTH_BARE_M, value) == LENGTH_OK;
}

static bool
ratio_of(length over, length under, struct ratio *r)
{
    if (over < 0 || under <= 0 || over > under)
        return false; /* steeper than 1 in 1 is a wall */
    int64_t k = common_divisor(over, under);
    *r = (struct ratio){ over / k, under / k };
    return true;
}

static bool
per_unit(const char *text, size_t n, length *value)
{
    char one[16] = "1 ";
    if (length_read(text, n, LENGTH_BARE_FT_IN, value) == LENGTH_OK)
        return true;
    if (n > 4)
        return false;
    memcpy(one + 2, text, n);
    return length_read(one, n + 2, LENGTH_BARE_FT_IN, value) == LENGTH_OK;
}

static bool
read_ratio(const char *text, size_t n, struct ratio *r)
{
    length over, under;
    const char *per = strstr(text, " per "), *in = strstr(text, " in ");
    if (per) {
        const char *right = per + strlen(" per ");
        return length_read(text, (size_t)(per - text), LENGTH_BARE_FT_IN, &over) == LENGTH_OK
            && per_unit(right, n - (size_t)(right - text), &under) && ratio_of(over, under, r);
    }
    if (in) {
        const char *right = in + strlen(" in ");
        return plain_decimal(text, (size_t)(in - text), &over)
            && plain_decimal(right, n - (size_t)(right - text), &under) && ratio_of(over, under, r);
    }
    if (n > 1 && text[n - 1] == '%') {
        size_t digits = n - 1 - (text[n - 2] == ' ');
        return plain_decimal(text, digits, &over) && ratio_of(over, 100 * LENGTH_M, r);
    }
    return false;
}

bool
record_read_slope(const char *text, size_t n, int64_t *rise, int64_t *run)
{
    struct ratio r;
    if (!read_ratio(text, n, &r))
        return false;
    *rise = r.over;
    *run = r.under;
    return true;
}

static void
take_ratio(struct reader *in, struct record_slope *slope, const struct field *field, int sign)
{
    struct ratio r;
    if (!wants_scalar(in, "a slope: 1 in 120, 0.8 % or 1/8 in per ft"))
        return;
    if (!read_ratio(events_text(&in->e), events_length(&in->e), &r)) {
        complain(in, "slope", "%s: no slope up to 1 in 1 stands here; write 1 in 120, 0.8 %% or 1/8 in per ft", field->key);
        return;
    }
    slope->rise = sign * r.over;
    slope->run = r.under;
}

static void
take_fall(struct reader *in, void *at, const struct field *field)
{
    take_ratio(in, at, field, -1);
}

static void
take_rise(struct reader *in, void *at, const struct field *field)
{
    take_ratio(in, at, field, 1);
}

static void
take_towards(struct reader *in, void *at, const struct field *field)
{
    struct record_slope *slope = at;
    (void)field;
    if (!wants_scalar(in, "length, width or a point"))
        return;
    if (strcmp(events_text(&in->e), "length") == 0)
        slope->towards = RECORD_TOWARDS_LENGTH;
    else if (strcmp(events_text(&in->e), "width") == 0)
        slope->towards = RECORD_TOWARDS_WIDTH;
    else if (name_of_scalar(in, &slope->point))
        slope->towards = RECORD_TOWARDS_POINT;
}

static void
take_slope(struct reader *in, void *at, const struct field *field)
{
    enum { SLOPE_TOWARDS, SLOPE_FALL, SLOPE_RISE, SLOPE_FIELDS };
    static const struct field fields[SLOPE_FIELDS] = {
        { KEY("towards"), take_towards, 0, true, NULL, 0 },
        { KEY("fall"), take_fall, 0, false, NULL, 0 },
        { KEY("rise"), take_rise, 0, false, NULL, 0 },
    };
    struct record_slope *slope = at;
    struct seen seen;
    *slope = (struct record_slope){ .given = true, .run = 1, .point = RECORD_NONE };
    if (!fields_read(in, fields, SLOPE_FIELDS, slope, field->key, &seen))
        return;
    if (!seen.faulty && seen_field(&seen, SLOPE_FALL) == seen_field(&seen, SLOPE_RISE))
        diag_say(in->d, DIAG_ERROR, seen.start, "slope", "a slope has either a fall or a rise");
}

/* ---- grade ---- */

struct grade_draft {
    uint32_t name, means, serves, note;
    length level, tolerance;
    struct through_list through;
    struct record_slope slope;
};

enum { GRADE_NAME, GRADE_MEANS, GRADE_FOR, GRADE_LEVEL, GRADE_THROUGH, GRADE_SLOPE, GRADE_TOLERANCE, GRADE_NOTE,
    GRADE_FIELDS };

static void
check_grade(struct reader *in, const struct grade_draft *draft, const struct seen *seen)
{
    bool level = seen_field(seen, GRADE_LEVEL), through = seen_field(seen, GRADE_THROUGH);
    if (level == through && !seen->faulty)
        diag_say(in->d, DIAG_ERROR, seen->start, "grade-form",
            level ? "a grade has a level or goes through marks, not both"
                  : "a grade has a level, or goes through marks: level: 101.50, or through: {at: NAME}");
    if (draft->through.n == 3 && seen_field(seen, GRADE_SLOPE))
        diag_say(in->d, DIAG_ERROR, seen->at[GRADE_SLOPE], "grade-form",
            "a plane through three marks has its slope from them; leave slope out");
}

void
take_grade(struct reader *in, void *at, const struct field *field)
{
    static const char *const means[] = { "finish", "subgrade" };
    static const struct field fields[GRADE_FIELDS] = {
        { KEY("name"), take_name, offsetof(struct grade_draft, name), true, NULL, 0 },
        { KEY("means"), take_word, offsetof(struct grade_draft, means), true, means, 2 },
        { KEY("for"), take_serves, offsetof(struct grade_draft, serves), false, NULL, 0 },
        { KEY("level"), take_length, offsetof(struct grade_draft, level), false, NULL, 0 },
        { KEY("through"), take_through, offsetof(struct grade_draft, through), false, NULL, 0 },
        { KEY("slope"), take_slope, offsetof(struct grade_draft, slope), false, NULL, 0 },
        { KEY("tolerance"), take_likely, offsetof(struct grade_draft, tolerance), false, NULL, LIKELY_TOLERANCE },
        { KEY("note"), take_text, offsetof(struct grade_draft, note), false, NULL, 0 },
    };
    (void)at;
    struct grade_draft draft = { .name = RECORD_NONE, .serves = UINT32_MAX };
    struct seen seen;
    struct diag_place place = events_place(&in->e);
    if (!fields_read(in, fields, GRADE_FIELDS, &draft, field->key, &seen))
        return;
    check_grade(in, &draft, &seen);
    if (draft.name == RECORD_NONE || !make_room(in, grade, grade_room, grades))
        return;
    in->r->grade[in->r->grades++] = (struct record_grade){
        .name = draft.name,
        .subgrade = draft.means == 1,
        .serves = draft.serves,
        .through = draft.through.n,
        .level = draft.level,
        .at = { draft.through.at[0], draft.through.at[1], draft.through.at[2] },
        .slope = draft.slope,
        .tolerance = draft.tolerance,
        .has_tolerance = seen_field(&seen, GRADE_TOLERANCE),
        .entry = in->entry,
        .place = place,
        .through_place = seen_field(&seen, GRADE_THROUGH) ? seen.at[GRADE_THROUGH] : place,
        .slope_place = seen_field(&seen, GRADE_SLOPE) ? seen.at[GRADE_SLOPE] : place,
    };
}

/* ---- seal ---- */

/* Digits, and their count fixed by where they are kept: field->word_count of them. */
static void
take_digits(struct reader *in, void *at, const struct field *field)
{
    if (!wants_scalar(in, "digits 0-9 a-f"))
        return;
    size_t n = events_length(&in->e);
    if (n != field->word_count || strspn(events_text(&in->e), "0123456789abcdef") != n)
        complain(in, "seal-form", "%s has %zu digits 0-9 a-f; rodbook seal writes them", field->key, field->word_count);
    else
        take_text(in, at, field);
}

void
take_seal(struct reader *in, void *at, const struct field *field)
{
    struct draft {
        uint32_t key, signature;
    } draft = { RECORD_NONE, RECORD_NONE };
    static const struct field fields[] = {
        { KEY("key"), take_digits, offsetof(struct draft, key), true, NULL, 2 * (size_t)SEAL_KEY_BYTES },
        { KEY("signature"), take_digits, offsetof(struct draft, signature), true, NULL, 2 * (size_t)SEAL_SIGNATURE_BYTES },
    };
    struct seen seen;
    (void)at;
    if (!fields_read(in, fields, sizeof fields / sizeof fields[0], &draft, field->key, &seen))
        return;
    if (draft.key != RECORD_NONE && make_room(in, seal, seal_room, seals))
        in->r->seal[in->r->seals++] = (struct record_seal){ draft.key, in->entry };
}
