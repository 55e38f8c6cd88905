#include "fields.h"

#include "rodbook/room.h"

#include <stdlib.h>
#include <string.h>
#include <time.h>

#define NAME_MOST 80 /* bytes; more is a note, and no column holds it */

static size_t
find_key(const struct field *fields, size_t n, const char *key, size_t bytes)
{
    size_t i = 0;
    for (; i < n; i++)
        if (fields[i].bytes == bytes && text_same(fields[i].key, key, bytes))
            break;
    return i;
}

/* Bytes of a text that a complaint shows: nothing that a terminal would act on, and not much of it. */
static int
shown(const char *text, size_t n)
{
    if (!text_is_plain(text, n))
        return 0;
    if (n > NAME_MOST)
        for (n = NAME_MOST; n > 0 && ((unsigned char)text[n] & 0xc0) == 0x80;)
            n--;
    return (int)n;
}

/* 62, and 62 ft, and 8 %: what stands behind a decimal comma in a list or a mapping in braces. */
static bool
is_behind_comma(const char *text, size_t n)
{
    return n > 0 && text[0] >= '0' && text[0] <= '9';
}

static void
say_colon(struct reader *in, const char *text, size_t key, size_t n)
{
    complain(in, "colon-space", "no blank behind the colon in %.*s; write %.*s: and then the value", shown(text, n), text,
        (int)key, text);
}

/* A key that is not known; the current event is the key. Goes past its value. */
static bool
unknown_key(struct reader *in, const struct field *fields, size_t n, const char *what)
{
    const char *key = events_text(&in->e), *words[FIELDS_MOST];
    char list[TEXT_LIST];
    size_t bytes = events_length(&in->e);
    int show = shown(key, bytes);
    for (size_t i = 0; i < n; i++)
        words[i] = fields[i].key;
    const char *near = text_nearest(key, bytes, words, n);
    const char *colon = memchr(key, ':', bytes);
    if (is_behind_comma(key, bytes))
        complain(in, "decimal-comma", "a comma stands before %.*s; write a point before the decimals: %s.%.*s", show, key,
            in->number, show, key);
    else if (colon && find_key(fields, n, key, (size_t)(colon - key)) < n)
        say_colon(in, key, (size_t)(colon - key), bytes);
    else if (near)
        complain(in, "unknown-key", "%.*s is no key of %s; nearest is %s", show, key, what, near);
    else
        complain(in, "unknown-key", "%.*s is no key of %s; write one of %s", show > 0 ? show : 8, show > 0 ? key : "this key", what,
            text_list(list, words, n));
    return events_next(&in->e) && events_skip(&in->e);
}

static bool
take_value(struct reader *in, const struct field *field, void *into, struct diag_place key_place)
{
    if (!events_next(&in->e))
        return false;
    if (events_is_empty(&in->e)) {
        diag_say(in->d, DIAG_ERROR, key_place, "missing-value", "%s has no value; write it, or leave the key out",
            field->key);
        return true;
    }
    in->key = field->key;
    field->take(in, (char *)into + field->offset, field);
    return !in->e.dead;
}

static bool
read_pair(struct reader *in, const struct field *fields, size_t n, void *into, const char *what, struct seen *seen)
{
    if (in->e.event.type != YAML_SCALAR_EVENT) {
        seen->faulty = true;
        if (in->e.event.type != YAML_ALIAS_EVENT)
            complain(in, "key", "a key of %s is a plain word", what);
        return events_skip(&in->e) && events_next(&in->e) && events_skip(&in->e);
    }
    size_t i = find_key(fields, n, events_text(&in->e), events_length(&in->e));
    if (i == n) {
        seen->faulty = true;
        return unknown_key(in, fields, n, what);
    }
    struct diag_place place = events_place(&in->e);
    if (seen_field(seen, i)) {
        diag_say(in->d, DIAG_ERROR, place, "duplicate-key", "%s is given twice", fields[i].key);
        diag_say(in->d, DIAG_NOTE, seen->at[i], NULL, "first given here");
        return events_next(&in->e) && events_skip(&in->e);
    }
    seen->bits |= UINT32_C(1) << i;
    seen->at[i] = place;
    return take_value(in, &fields[i], into, place);
}

/* The current event is no mapping: say so, and skip it. */
static bool
no_mapping(struct reader *in, const struct field *fields, size_t n, const char *what)
{
    if (in->e.event.type == YAML_SCALAR_EVENT) {
        const char *text = events_text(&in->e), *colon = memchr(text, ':', events_length(&in->e));
        if (colon && find_key(fields, n, text, (size_t)(colon - text)) < n) {
            say_colon(in, text, (size_t)(colon - text), events_length(&in->e));
            return true;
        }
    }
    if (in->e.event.type != YAML_ALIAS_EVENT)
        complain(in, "value-kind", "%s wants keys with values%s%s%s", what, fields[0].needed ? ", " : "",
            fields[0].needed ? fields[0].key : "", fields[0].needed ? ": and so on" : "");
    return events_skip(&in->e);
}

bool
fields_read(struct reader *in, const struct field *fields, size_t n, void *into, const char *what, struct seen *seen)
{
    seen->bits = 0;
    seen->faulty = in->e.event.type != YAML_MAPPING_START_EVENT;
    seen->start = events_place(&in->e);
    if (seen->faulty)
        return no_mapping(in, fields, n, what);
    for (;;) {
        if (!events_next(&in->e))
            return false;
        if (in->e.event.type == YAML_MAPPING_END_EVENT)
            break;
        if (!read_pair(in, fields, n, into, what, seen))
            return false;
    }
    for (size_t i = 0; i < n && fields[i].needed && !seen->faulty; i++)
        if (!seen_field(seen, i))
            diag_say(in->d, DIAG_ERROR, seen->start, "missing-key", "%s has no %s", what, fields[i].key);
    return true;
}

static bool
wants_opening(struct reader *in, yaml_event_type_t type, const char *wanted)
{
    if (in->e.event.type == type)
        return true;
    if (in->e.event.type != YAML_ALIAS_EVENT) /* said already */
        complain(in, "value-kind", "%s", wanted);
    (void)events_skip(&in->e);
    return false;
}

bool
wants_mapping(struct reader *in, const char *wanted)
{
    return wants_opening(in, YAML_MAPPING_START_EVENT, wanted);
}

bool
wants_list(struct reader *in, const char *wanted)
{
    return wants_opening(in, YAML_SEQUENCE_START_EVENT, wanted);
}

bool
wants_scalar(struct reader *in, const char *wanted)
{
    if (in->e.event.type == YAML_SCALAR_EVENT)
        return true;
    if (in->e.event.type != YAML_ALIAS_EVENT) /* said already */
        complain(in, "value-kind", "%s wants %s", in->key, wanted);
    (void)events_skip(&in->e);
    return false;
}

bool
room_one(struct reader *in, void **array, size_t *room, size_t n, size_t size)
{
    void *grown = room_for(*array, room, n, size);
    if (grown)
        *array = grown;
    in->no_memory |= grown == NULL;
    return grown != NULL;
}

static uint32_t
number_in(struct reader *in, struct names *table, const char *text, size_t n)
{
    uint32_t number = names_number(table, text, n);
    in->no_memory |= number == TEXT_NONE;
    return number;
}

const char *
name_fault(const char *text, size_t n)
{
    if (n == 0 || n > NAME_MOST)
        return "a name has 1 to 80 bytes; write the rest as a note";
    if (text[0] == ' ' || text[n - 1] == ' ')
        return "a name has no blank at its ends";
    return text_is_plain(text, n) ? NULL : "a name has no control or direction character";
}
_Static_assert(NAME_MOST == 80, "name_fault() says so");

bool
name_of_scalar(struct reader *in, uint32_t *name)
{
    const char *text = events_text(&in->e);
    size_t n = events_length(&in->e);
    const char *fault = name_fault(text, n);
    if (fault)
        complain(in, "name", "%s: %s", in->key, fault);
    else
        *name = number_in(in, &in->r->names, text, n);
    return fault == NULL;
}

void
take_name(struct reader *in, void *at, const struct field *field)
{
    (void)field;
    if (wants_scalar(in, "a name"))
        (void)name_of_scalar(in, at);
}

void
take_text(struct reader *in, void *at, const struct field *field)
{
    if (!wants_scalar(in, "text"))
        return;
    size_t n = events_length(&in->e);
    char *text = (char *)in->e.event.data.scalar.value;
    for (size_t i = 0; i < n; i++)
        if (text[i] == '\n' || text[i] == '\t')
            text[i] = ' ';
    while (n > 0 && text[n - 1] == ' ')
        n--;
    if (n == 0 || !text_is_plain(text, n))
        complain(in, "text", "%s holds a control or direction character, or nothing; write plain text", field->key);
    else
        *(uint32_t *)at = number_in(in, &in->r->texts, text, n);
}

const char *
length_check(enum length_status status)
{
    switch (status) {
    case LENGTH_EEMPTY:
        return "missing-value";
    case LENGTH_ECOMMA:
        return "decimal-comma";
    case LENGTH_EBARE:
        return "needs-unit";
    case LENGTH_EFRACTION:
        return "bare-fraction";
    case LENGTH_EEXPONENT:
        return "exponent";
    case LENGTH_EUNIT:
        return "unknown-unit";
    case LENGTH_EINCHES:
        return "inches";
    case LENGTH_ESIGN:
        return "sign";
    case LENGTH_EFINE:
        return "too-fine";
    case LENGTH_ERANGE:
        return "range";
    case LENGTH_EFORM:
    case LENGTH_OK:
        break;
    }
    return "number";
}

void
say_length_of(struct diag *d, struct diag_place place, const char *key, const char *text, size_t n,
    enum length_status status, enum length_unit unit)
{
    int show = shown(text, n);
    diag_say(d, DIAG_ERROR, place, length_check(status), "%s: %.*s %s", key, show > 0 ? show : 10,
        show > 0 ? text : "this value", length_advice(status, unit));
}

void
say_length(struct reader *in, struct diag_place place, const char *key, const char *text, size_t n,
    enum length_status status)
{
    say_length_of(in->d, place, key, text, n, status, in->r->job.unit);
}

bool
length_of_scalar(struct reader *in, length *value)
{
    const char *text = events_text(&in->e);
    size_t n = events_length(&in->e);
    enum length_status s = length_read(text, n, in->r->job.unit, value);
    if (n < sizeof in->number)
        memcpy(in->number, text, n + 1);
    if (s != LENGTH_OK)
        say_length(in, events_place(&in->e), in->key, text, n, s);
    return s == LENGTH_OK;
}

void
take_length(struct reader *in, void *at, const struct field *field)
{
    (void)field;
    if (wants_scalar(in, "a length"))
        (void)length_of_scalar(in, at);
}

void
take_distance(struct reader *in, void *at, const struct field *field)
{
    length v;
    if (!wants_scalar(in, "a length") || !length_of_scalar(in, &v))
        return;
    if (v > 0)
        *(length *)at = v;
    else
        complain(in, "range", "%s: %s is not above 0", field->key, events_text(&in->e));
}

void
take_zero_or_more(struct reader *in, void *at, const struct field *field)
{
    length v;
    if (!wants_scalar(in, "a length") || !length_of_scalar(in, &v))
        return;
    if (v >= 0 && is_likely(in, field->key, events_length(&in->e), v, field->word_count))
        *(length *)at = v;
    else if (v < 0)
        complain(in, "range", "%s: %s is below 0", field->key, events_text(&in->e));
}

bool
sigma_of_scalar(struct reader *in, const struct field *field, double *sigma)
{
    double nm;
    if (!wants_scalar(in, "a standard deviation"))
        return true;
    const char *text = events_text(&in->e);
    size_t n = events_length(&in->e);
    enum length_status s = length_read_real(text, n, in->r->job.unit, &nm);
    if (s != LENGTH_OK)
        say_length(in, events_place(&in->e), field->key, text, n, s);
    else if (nm > 0)
        *sigma = nm / (double)LENGTH_M;
    return s != LENGTH_OK || nm > 0;
}

void
take_sigma(struct reader *in, void *at, const struct field *field)
{
    if (!sigma_of_scalar(in, field, at))
        complain(in, "range", "%s: %s is not above 0; leave %s out where nobody knows it", field->key, events_text(&in->e), field->key);
}

void
take_word(struct reader *in, void *at, const struct field *field)
{
    if (!wants_scalar(in, "a word"))
        return;
    const char *text = events_text(&in->e);
    size_t n = events_length(&in->e);
    for (size_t i = 0; i < field->word_count; i++)
        if (text_same(field->words[i], text, n) && field->words[i][n] == '\0') {
            *(uint32_t *)at = (uint32_t)i;
            return;
        }
    const char *near = text_nearest(text, n, field->words, field->word_count);
    char list[TEXT_LIST];
    if (near)
        complain(in, "word", "%s: %.*s is not known; nearest is %s", field->key, shown(text, n), text, near);
    else
        complain(in, "word", "%s: %.*s is not known; write one of %s", field->key, shown(text, n), text,
            text_list(list, field->words, field->word_count));
}

void
take_count(struct reader *in, void *at, const struct field *field)
{
    uint32_t v = 0;
    if (!wants_scalar(in, "a whole number"))
        return;
    const char *text = events_text(&in->e);
    size_t n = events_length(&in->e);
    for (size_t i = 0; i < n && n <= 9; i++)
        v = text[i] >= '0' && text[i] <= '9' && (i == 0 || v > 0) ? v * 10 + (uint32_t)(text[i] - '0') : 0;
    if (v == 0)
        complain(in, "count", "%s: %.*s is no whole number from 1 on", field->key, shown(text, n), text);
    else
        *(uint32_t *)at = v;
}

void
take_truth(struct reader *in, void *at, const struct field *field)
{
    if (!wants_scalar(in, "true or false"))
        return;
    bool yes = strcmp(events_text(&in->e), "true") == 0;
    if (yes || strcmp(events_text(&in->e), "false") == 0)
        *(bool *)at = yes;
    else
        complain(in, "word", "%s: %.*s is neither true nor false", field->key,
            shown(events_text(&in->e), events_length(&in->e)), events_text(&in->e));
}

/* A day of the calendar at the head of text; bytes read, or 0. */
static size_t
read_day(const char *text)
{
    struct tm tm = { 0 };
    const char *end = strptime(text, "%Y-%m-%d", &tm);
    if (!end || end - text != 10)
        return 0;
    struct tm same = tm;
    return timegm(&same) != (time_t)-1 && same.tm_mday == tm.tm_mday ? 10 : 0;
}

bool
is_day(const char *text, size_t n)
{
    return n == 10 && read_day(text) == 10;
}

static bool
two_digits(const char *p, int most)
{
    return p[0] >= '0' && p[0] <= '9' && p[1] >= '0' && p[1] <= '9' && (p[0] - '0') * 10 + (p[1] - '0') <= most;
}

/* RFC 3339, section 5.6, date-time; the letters T and Z in capitals. */
static bool
is_instant(const char *p)
{
    size_t n = read_day(p);
    if (n == 0 || p[n] != 'T')
        return false;
    p += n + 1;
    if (!two_digits(p, 23) || p[2] != ':' || !two_digits(p + 3, 59) || p[5] != ':' || !two_digits(p + 6, 60))
        return false;
    p += 8;
    if (*p == '.') {
        size_t digits = strspn(p + 1, "0123456789");
        if (digits == 0)
            return false;
        p += 1 + digits;
    }
    if (strcmp(p, "Z") == 0)
        return true;
    return (*p == '+' || *p == '-') && two_digits(p + 1, 23) && p[3] == ':' && two_digits(p + 4, 59) && p[6] == '\0';
}

void
take_date(struct reader *in, void *at, const struct field *field)
{
    if (!wants_scalar(in, "a day"))
        return;
    const char *text = events_text(&in->e);
    if (is_day(text, events_length(&in->e)))
        *(uint32_t *)at = number_in(in, &in->r->texts, text, 10);
    else
        complain(in, "date", "%s: %.*s is not a day of the calendar; write 2026-05-02", field->key,
            shown(text, events_length(&in->e)), text);
}

void
take_time(struct reader *in, void *at, const struct field *field)
{
    if (!wants_scalar(in, "a time"))
        return;
    const char *text = events_text(&in->e);
    if (strlen(text) == events_length(&in->e) && is_instant(text))
        *(uint32_t *)at = number_in(in, &in->r->texts, text, strlen(text));
    else
        complain(in, "time", "%s: %.*s is not a time; write 2026-05-02T08:10:00Z", field->key,
            shown(text, events_length(&in->e)), text);
}
