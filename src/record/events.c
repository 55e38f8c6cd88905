#include "events.h"

#include "rodbook/record.h"

#include <string.h>

#define FIRST_READ 1024 /* bytes; a parser that only meets the next fault should not decode pages for it */

static int
feed(void *data, unsigned char *buffer, size_t size, size_t *read)
{
    struct events *e = data;
    size_t left = e->end - e->at;
    if (e->at == e->start && size > FIRST_READ)
        size = FIRST_READ;
    ptrdiff_t n = source_part(e->source, e->at, (char *)buffer, size < left ? size : left);
    if (n < 0)
        return 0;
    e->at += (size_t)n;
    *read = (size_t)n;
    return 1;
}

int
events_open(struct events *e, const struct source *source, size_t at, size_t end, uint32_t lines_above, struct diag *d)
{
    *e = (struct events){ .d = d, .source = source, .start = at, .at = at, .end = end, .lines_above = lines_above };
    if (!yaml_parser_initialize(&e->parser))
        return -1;
    yaml_parser_set_encoding(&e->parser, YAML_UTF8_ENCODING);
    yaml_parser_set_input(&e->parser, feed, e);
    return 0;
}

void
events_close(struct events *e)
{
    if (e->live)
        yaml_event_delete(&e->event);
    e->live = false;
    yaml_parser_delete(&e->parser);
}

static struct diag_place
place_at(const struct events *e, yaml_mark_t mark)
{
    return (struct diag_place){ (uint32_t)mark.line + 1 + e->lines_above, (uint32_t)mark.column + 1 };
}

struct diag_place
events_place(const struct events *e)
{
    return place_at(e, e->event.start_mark);
}

static bool
stop(struct events *e, struct diag_place place, const char *check, const char *text)
{
    diag_say(e->d, DIAG_ERROR, place, check, "%s", text);
    e->dead = true;
    return false;
}

/* What to do about the faults that a field book is likely to have; libyaml's own words for the rest. */
static const char *
advice_of(const char *problem)
{
    static const struct {
        const char *part, *advice;
    } known[] = {
        { "mapping values are not allowed", "a second colon in a value; put the text in quotes" },
        { "cannot start any token", "a tab or a sign that YAML keeps for itself; indent with blanks, put texts in quotes" },
        { "did not find expected key", "text behind a closing quote, or rows that are not indented alike" },
        { "did not find expected '-' indicator", "a } or ] too many, or rows that are not indented alike" },
        { "expected ':'", "no colon behind a key; write at: BM1" },
        { "expected <document start>", "text stands behind the end of an entry; begin a new one with ---" },
        { "unexpected end of stream", "a quote is not closed; put one at the text's end" },
        { "unexpected document indicator", "a quote is not closed; put one at the text's end" },
    };
    for (size_t i = 0; i < sizeof known / sizeof known[0]; i++)
        if (strstr(problem, known[i].part))
            return known[i].advice;
    return problem;
}

/* A bracket that is not closed: what was understood behind it is not what was meant. */
static bool
open_bracket(struct events *e, const char *context)
{
    bool mapping = strstr(context, "flow mapping") != NULL;
    struct diag_place at = place_at(e, e->parser.context_mark);
    diag_drop_from(e->d, e->said, at);
    stop(e, at, "yaml", mapping ? "the { opened here is not closed; write } at its end"
                                : "the [ opened here is not closed; write ] at its end");
    diag_say(e->d, DIAG_NOTE, place_at(e, e->parser.problem_mark), NULL, "it was still open here");
    return false;
}

static bool
parser_fault(struct events *e)
{
    const yaml_parser_t *p = &e->parser;
    if (p->error == YAML_MEMORY_ERROR) {
        e->d->no_memory = true;
        e->dead = true;
        return false;
    }
    if (p->context && (strstr(p->context, "flow mapping") || strstr(p->context, "flow sequence")))
        return open_bracket(e, p->context);
    bool quote = p->context && strstr(p->context, "quoted scalar");
    struct diag_place place = place_at(e, quote ? p->context_mark : p->problem_mark);
    return stop(e, place, "yaml", p->problem ? advice_of(p->problem) : "cannot be read");
}

/* What YAML allows and a field book does not. */
static void
refuse_dressing(struct events *e, const yaml_char_t *anchor, const yaml_char_t *tag)
{
    if (anchor)
        diag_say(e->d, DIAG_ERROR, events_place(e), "anchor", "&%s: a record has no anchors; write the value out",
            (const char *)anchor);
    if (tag)
        diag_say(e->d, DIAG_ERROR, events_place(e), "tag", "a record has no tags; leave the ! word out");
}

static void
refuse_alias(struct events *e)
{
    diag_say(e->d, DIAG_ERROR, events_place(e), "alias", "*%s: a record has no aliases; write the value out",
        (const char *)e->event.data.alias.anchor);
}

static void
refuse_directive(struct events *e)
{
    const yaml_event_t *v = &e->event;
    if (v->data.document_start.version_directive
        || v->data.document_start.tag_directives.start != v->data.document_start.tag_directives.end)
        diag_say(e->d, DIAG_ERROR, events_place(e), "directive", "a record has no directives; leave the %% line out");
}

static bool
open_node(struct events *e, const yaml_char_t *anchor, const yaml_char_t *tag)
{
    refuse_dressing(e, anchor, tag);
    if (++e->depth > RECORD_DEEPEST)
        return stop(e, events_place(e), "nesting", "nested deeper than 16; a record needs four");
    return true;
}

/* Ends of mappings and lists own nothing, and neither do their starts without anchor and tag. */
static bool
owns_memory(const yaml_event_t *v)
{
    if (v->type == YAML_MAPPING_START_EVENT)
        return v->data.mapping_start.anchor || v->data.mapping_start.tag;
    return v->type != YAML_MAPPING_END_EVENT && v->type != YAML_SEQUENCE_END_EVENT;
}

bool
events_next(struct events *e)
{
    if (e->live && owns_memory(&e->event))
        yaml_event_delete(&e->event);
    e->live = false;
    if (e->dead)
        return false;
    if (!yaml_parser_parse(&e->parser, &e->event))
        return parser_fault(e);
    e->live = true;
    const yaml_event_t *v = &e->event;
    switch (v->type) {
    case YAML_SCALAR_EVENT:
        if (v->data.scalar.anchor || v->data.scalar.tag)
            refuse_dressing(e, v->data.scalar.anchor, v->data.scalar.tag);
        return true;
    case YAML_MAPPING_START_EVENT:
        return open_node(e, v->data.mapping_start.anchor, v->data.mapping_start.tag);
    case YAML_SEQUENCE_START_EVENT:
        return open_node(e, v->data.sequence_start.anchor, v->data.sequence_start.tag);
    case YAML_MAPPING_END_EVENT:
    case YAML_SEQUENCE_END_EVENT:
        e->depth--;
        return true;
    case YAML_ALIAS_EVENT:
        refuse_alias(e);
        return true;
    case YAML_DOCUMENT_START_EVENT:
        e->said = e->d->n;
        refuse_directive(e);
        return true;
    case YAML_STREAM_END_EVENT:
    case YAML_NO_EVENT:
        e->dead = true;
        return false;
    case YAML_STREAM_START_EVENT:
    case YAML_DOCUMENT_END_EVENT:
        break;
    }
    return true;
}

bool
events_skip(struct events *e)
{
    bool opens = e->event.type == YAML_MAPPING_START_EVENT || e->event.type == YAML_SEQUENCE_START_EVENT;
    int outside = e->depth - opens;
    while (e->depth > outside)
        if (!events_next(e))
            return false;
    return true;
}
