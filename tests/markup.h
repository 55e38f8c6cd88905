/* markup.h - a strict reader of well-formed markup, without any library: elements, attributes, and the text in each */
#ifndef TESTS_MARKUP_H
#define TESTS_MARKUP_H

#include "near.h"

#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define MARKUP_ATTRIBUTES 16
#define MARKUP_DEPTH 32
#define MARKUP_NONE SIZE_MAX

struct markup_element {
    char *name;
    char *attribute[MARKUP_ATTRIBUTES], *value[MARKUP_ATTRIBUTES];
    size_t attributes;
    size_t parent;      /* MARKUP_NONE for the root */
    size_t begin, end;  /* its text, that of its children included: markup.text[begin ... end - 1] */
};

struct markup {
    const char *all, *at; /* what is read, and how far */
    struct markup_element *element;
    size_t elements;
    char *text;
    size_t used;
};

static inline void
markup_fail(const struct markup *m, const char *what)
{
    fail_msg("byte %td, before \"%.40s\": %s", m->at - m->all, m->at, what);
}

/* A character or one of the references that any parser knows, to p; where it ends. */
static inline char *
markup_take(struct markup *m, char *p)
{
    static const char *const reference[][2] = { { "&amp;", "&" }, { "&lt;", "<" }, { "&gt;", ">" }, { "&quot;", "\"" }, { "&#39;", "'" } };
    for (size_t i = 0; i < sizeof reference / sizeof reference[0]; i++)
        if (strncmp(m->at, reference[i][0], strlen(reference[i][0])) == 0) {
            m->at += strlen(reference[i][0]);
            *p = reference[i][1][0];
            return p + 1;
        }
    if (*m->at == '&')
        markup_fail(m, "& begins no reference");
    if (*m->at == '<')
        markup_fail(m, "< stands in a text");
    if ((unsigned char)*m->at < ' ' && *m->at != '\n')
        markup_fail(m, "a control character, or the end");
    *p = *m->at++;
    return p + 1;
}

static inline char *
markup_name(struct markup *m)
{
    size_t n = strspn(m->at, "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-:");
    if (n == 0)
        markup_fail(m, "no name");
    char *name = strndup(m->at, n);
    assert_non_null(name);
    m->at += n;
    return name;
}

static inline void
markup_attribute(struct markup *m, struct markup_element *e)
{
    if (e->attributes == MARKUP_ATTRIBUTES)
        markup_fail(m, "too many attributes");
    char *name = markup_name(m);
    for (size_t i = 0; i < e->attributes; i++)
        if (strcmp(e->attribute[i], name) == 0)
            markup_fail(m, "an attribute stands twice");
    if (strncmp(m->at, "=\"", 2) != 0)
        markup_fail(m, "an attribute without a value in quotes");
    m->at += 2;
    char *value = malloc(strlen(m->at) + 1), *p = value;
    assert_non_null(value);
    while (*m->at != '"')
        p = markup_take(m, p);
    *p = '\0';
    m->at++;
    e->attribute[e->attributes] = name;
    e->value[e->attributes++] = realloc(value, (size_t)(p - value) + 1);
}

/* From behind "<name" to behind ">"; true where the element ends with it. */
static inline bool
markup_attributes(struct markup *m, struct markup_element *e)
{
    while (*m->at == ' ') {
        m->at++;
        markup_attribute(m, e);
    }
    bool ends = *m->at == '/';
    m->at += ends;
    if (*m->at != '>')
        markup_fail(m, "a tag does not end");
    m->at++;
    return ends;
}

static inline size_t
markup_begin(struct markup *m, size_t parent, bool *ends)
{
    if ((m->elements & (m->elements - 1)) == 0) {
        struct markup_element *grown = realloc(m->element, (m->elements ? 2 * m->elements : 1) * sizeof *grown);
        assert_non_null(grown);
        m->element = grown;
    }
    size_t i = m->elements++;
    struct markup_element *e = &m->element[i];
    *e = (struct markup_element){ .parent = parent, .begin = m->used, .end = m->used };
    e->name = markup_name(m);
    *ends = markup_attributes(m, e);
    return i;
}

static inline size_t
markup_close(struct markup *m, size_t open)
{
    if (open == MARKUP_NONE)
        markup_fail(m, "nothing is open that could end");
    struct markup_element *e = &m->element[open];
    size_t n = strlen(e->name);
    if (strncmp(m->at, e->name, n) != 0 || m->at[n] != '>')
        fail_msg("byte %td: <%s> is ended by \"%.20s\"", m->at - m->all, e->name, m->at);
    m->at += n + 1;
    e->end = m->used;
    return e->parent;
}

/* The whole text, which begins with a document type; fails where anything is not well-formed. markup_release(). */
static inline struct markup
markup_read(const char *all)
{
    static const char type[] = "<!DOCTYPE html>\n";
    struct markup m = { .all = all, .at = all, .text = malloc(strlen(all) + 1) };
    size_t open = MARKUP_NONE;
    bool ends;
    assert_non_null(m.text);
    if (strncmp(all, type, sizeof type - 1) != 0)
        markup_fail(&m, "no document type");
    m.at += sizeof type - 1;
    while (*m.at) {
        if (strncmp(m.at, "</", 2) == 0) {
            m.at += 2;
            open = markup_close(&m, open);
        } else if (*m.at == '<') {
            m.at++;
            size_t i = markup_begin(&m, open, &ends);
            open = ends ? open : i;
        } else if (open == MARKUP_NONE) {
            if (*m.at != '\n')
                markup_fail(&m, "text outside the root");
            m.at++;
        } else {
            m.used = (size_t)(markup_take(&m, m.text + m.used) - m.text);
        }
    }
    if (open != MARKUP_NONE)
        markup_fail(&m, "something stays open");
    m.text[m.used] = '\0';
    return m;
}

static inline void
markup_release(struct markup *m)
{
    for (size_t i = 0; i < m->elements; i++) {
        for (size_t k = 0; k < m->element[i].attributes; k++) {
            free(m->element[i].attribute[k]);
            free(m->element[i].value[k]);
        }
        free(m->element[i].name);
    }
    free(m->element);
    free(m->text);
}

static inline bool
markup_is(const struct markup *m, size_t i, const char *name)
{
    return strcmp(m->element[i].name, name) == 0;
}

/* NULL where it has none of that name. */
static inline const char *
markup_value(const struct markup *m, size_t i, const char *attribute)
{
    const struct markup_element *e = &m->element[i];
    for (size_t k = 0; k < e->attributes; k++)
        if (strcmp(e->attribute[k], attribute) == 0)
            return e->value[k];
    return NULL;
}

static inline bool
markup_has(const struct markup *m, size_t i, const char *attribute, const char *value)
{
    const char *is = markup_value(m, i, attribute);
    return is && strcmp(is, value) == 0;
}

/* True where `i` stands in `outer`, at whatever depth. */
static inline bool
markup_within(const struct markup *m, size_t i, size_t outer)
{
    while (i != MARKUP_NONE && i != outer)
        i = m->element[i].parent;
    return i == outer;
}

/* The first element from `from` on of that name; MARKUP_NONE where there is none. */
static inline size_t
markup_find(const struct markup *m, size_t from, const char *name)
{
    for (size_t i = from; i < m->elements; i++)
        if (markup_is(m, i, name))
            return i;
    return MARKUP_NONE;
}

/* The text in an element: a copy; free() it. */
static inline char *
markup_text(const struct markup *m, size_t i)
{
    char *text = strndup(m->text + m->element[i].begin, m->element[i].end - m->element[i].begin);
    assert_non_null(text);
    return text;
}

#endif
