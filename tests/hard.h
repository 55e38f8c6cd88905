/*
 * hard.h - records that have a bit of everything, under names and with faults that sheets are not made for
 *
 * In the texts <1> to <8> stand for names and <J> for free text; letters and
 * digits behind one belong to the name.
 */
#ifndef TESTS_HARD_H
#define TESTS_HARD_H

#include "demo.h"

#include <stdbool.h>

#include <stdio.h>
#include <stdlib.h>

static const char hard_whole[] =
    "---\n"
    "job: <J>\n"
    "place: <J>\n"
    "unit: m\n"
    "least: 0.001\n"
    "sigma: 0.0006\n"
    "sigma-km: 0.002\n"
    "allow: {misclosure: 4 mm, per: root-setup}\n"
    "---\n"
    "marks:\n"
    "  <1>: {elevation: 48.375, note: \"bolt\"}\n"
    "  <2>: {elevation: 47.101}\n"
    "---\n"
    "points:\n"
    "  <3>: {x: 0, y: 0, kind: batten}\n"
    "  <4>: {x: 4, y: 0, kind: batten}\n"
    "  <5>1: {x: 0, y: 1, kind: post}\n"
    "  <5>2: {x: 2, y: 1, kind: post}\n"
    "  <5>3: {x: 4, y: 1, kind: post}\n"
    "  <5>4: {x: 6, y: 1, kind: post}\n"
    "  <6>a: {x: 0, y: 0, kind: ground}\n"
    "  <6>b: {x: 5, y: 0, kind: ground}\n"
    "  <6>c: {x: 0, y: 5, kind: ground}\n"
    "  <6>d: {x: 5, y: 5, kind: ground}\n"
    "  <6>e: {x: 10, y: 5, kind: ground}\n"
    "  <7>: {kind: batten}\n"
    "---\n"
    "grade: {name: <8>, means: finish, for: batten, level: 48.500, slope: {fall: 1 in 120, towards: length}, tolerance: 3 mm}\n"
    "---\n"
    "grade: {name: <8>2, means: finish, for: post, level: 48.600, tolerance: 3 mm}\n"
    "---\n"
    "grade: {name: <8>3, means: subgrade, for: ground, level: 48.000}\n"
    "---\n"
    "levels:\n"
    "  date: 2026-05-02\n"
    "  observer: <J>\n"
    "  readings:\n"
    "    - {at: <1>, bs: 1.482, dist: 30}\n"
    "    - {at: <3>, on: batten, is: 1.360}\n"
    "    - {at: <4>, on: batten, is: 1.351, note: <J>}\n"
    "    - {at: <5>1, on: post, is: 1.263}\n"
    "    - {at: <5>2, on: post, is: 1.260}\n"
    "    - {at: <6>a, on: ground, is: 1.900}\n"
    "    - {at: <6>b, on: ground, is: 1.950}\n"
    "    - {at: tp, fs: 1.129, fs-dist: 34, bs: 1.257, bs-dist: 31}\n"
    "    - {at: <3>, on: batten, is: 1.486}\n"
    "    - {at: <5>3, on: post, is: 1.380}\n"
    "    - {at: <5>1, on: top, is: 0.380}\n"
    "    - {at: <6>c, on: ground, is: 2.200}\n"
    "    - {at: <6>d, on: ground, is: 1.950}\n"
    "    - {at: <6>e, on: ground, is: 1.990}\n"
    "    - {at: <1>, fs: 1.609, dist: 29}\n"
    "---\n"
    "levels:\n"
    "  readings:\n"
    "    - {at: <1>, bs: 1.300}\n"
    "    - {at: <3>, on: batten, is: 1.176, moved: true}\n"
    "    - {at: tp2, fs: 1.900}\n"
    "---\n"
    "sections:\n"
    "  rows:\n"
    "    - {from: <1>, to: <2>, rise: -1.274, setups: 6}\n"
    "    - {from: <2>, to: <1>, rise: 1.275, setups: 6}\n"
    "---\n"
    "strike: {entry: 8, row: 2, reason: <J>}\n"
    "---\n"
    "plan:\n"
    "  name: <J>\n"
    "  setups:\n"
    "    - {from: <1>, batten: [<3>, <4>], to: tp}\n"
    "    - {from: tp, post: <5>1, to: <1>}\n"
    "---\n"
    "set:\n"
    "  row: <5>\n"
    "  gap: 100 mm\n"
    "  tolerance: {line: 5 mm, height: 5 mm, plumb: 5 mm in 1 m}\n"
    "  rows:\n"
    "    - {at: <5>1, gap: 101 mm, lean: {in: 3 mm in 1 m}}\n"
    "    - {at: <5>2, low: 99 mm, high: 111 mm, apart: 1 m}\n"
    "    - {at: <5>3, gap: 140 mm, lean: {end: 9 mm in 1 m}, note: <J>}\n"
    "    - {at: <5>4, gap: 100 mm}\n"
    "---\n"
    "pad:\n"
    "  grade: <8>3\n"
    "  length: 10\n"
    "  width: 10\n"
    "  stone: 0.1\n"
    "  density: 1500 kg/m3\n"
    "  source: <J>\n"
    "  swell: 25 %\n";

static const char hard_inches[] =
    "---\n"
    "job: <J>\n"
    "unit: ft-in\n"
    "least: 1/8 in\n"
    "allow: {misclosure: 1/4 in, per: root-setup}\n"
    "sigma: 1/16 in\n"
    "---\n"
    "marks: {<1>: {elevation: 100 ft}}\n"
    "---\n"
    "points:\n"
    "  <3>: {x: 0 ft, y: 0 ft, kind: batten}\n"
    "  <4>: {x: 4 ft, y: 0 ft, kind: post}\n"
    "  <7>: {kind: batten}\n"
    "---\n"
    "grade: {name: <8>, means: finish, level: 101' 6\", slope: {rise: 1/8 in per ft, towards: <4>}, tolerance: 1/8 in}\n"
    "---\n"
    "levels:\n"
    "  readings:\n"
    "    - {at: <1>, bs: 4' 7-3/8\", page: 1}\n"
    "    - {at: <3>, on: batten, is: 3' 1-1/4\", note: <J>}\n"
    "    - {at: <4>, on: post, is: 3' 0-1/8\", page: 1}\n"
    "    - {at: <6>, fs: 3' 9-7/8\", bs: 4' 2\", page: 2}\n"
    "    - {at: <3>, on: batten, is: 3' 5-3/8\"}\n"
    "    - {at: <1>, fs: 4' 11-1/2\"}\n"
    "---\n"
    "plan:\n"
    "  setups:\n"
    "    - {from: <1>, batten: <3>, post: <4>}\n";

static const char hard_built[] =
    "---\n"
    "job: <J>\n"
    "place: <J>\n"
    "unit: m\n"
    "least: 0.001\n"
    "sigma: 0.0006\n"
    "---\n"
    "marks: {<1>: {elevation: 48.375}}\n"
    "---\n"
    "site:\n"
    "  length: 8\n"
    "  width: 4\n"
    "  post: 0.140\n"
    "  nailed: 0.020\n"
    "  corners: [<5>ka, <5>kb, <5>kc, <5>kd]\n"
    "  rows:\n"
    "    <6>: {wall: front, spacing: 2}\n"
    "    <7>: {in: 2, at: [2, 6]}\n"
    "  doors:\n"
    "    - {row: <6>, from: 3.2, to: 4.8}\n"
    "---\n"
    "grade: {name: <8>, means: finish, for: [post, batten], level: 48.500, tolerance: 3 mm}\n"
    "---\n"
    "grade: {name: <8>2, means: subgrade, for: ground, level: 48.400}\n"
    "---\n"
    "holes:\n"
    "  depth: 1000 mm\n"
    "  from: ground\n"
    "  to: bottom\n"
    "  footing: 150 mm\n"
    "  diameter: 400 mm\n"
    "  post-length: 3\n"
    "  top: 1.8\n"
    "  source: <J>\n"
    "  posts:\n"
    "    <6>3: {depth: 1200 mm, from: grade, grade: <8>2}\n"
    "---\n"
    "concrete:\n"
    "  fill: 100 mm below ground\n"
    "  footing: poured\n"
    "  waste: 10 %\n"
    "  bag: {yield: 0.012 m3, mass: 25 kg}\n"
    "  bulking: 25 %\n"
    "---\n"
    "tape:\n"
    "  date: 2026-05-02\n"
    "  tape: <J>\n"
    "  crew: <J>\n"
    "  rows:\n"
    "    - {from: <5>ka, to: <5>kb, read: 8.001}\n"
    "    - {from: <5>kb, to: <5>kc, read: 4.002, note: <J>}\n"
    "    - {from: <5>kc, to: <5>kd, read: 7.998}\n"
    "    - {from: <5>kd, to: <5>ka, read: 3.999}\n"
    "    - {from: <5>ka, to: <5>kc, read: 8.970}\n"
    "    - {from: <5>kb, to: <5>kd, read: 8.922}\n"
    "---\n"
    "tape:\n"
    "  rows:\n"
    "    - {from: <5>ka, to: <5>kb, read: 8.000}\n"
    "    - {from: <5>kb, to: <5>kc, read: 4.100}\n"
    "    - {from: <5>kc, to: <5>kd, read: 8.000}\n"
    "    - {from: <5>kd, to: <5>ka, read: 4.000}\n"
    "    - {from: <5>ka, to: <5>kc, read: 8.944}\n"
    "    - {from: <5>kb, to: <5>kd, read: 8.944}\n"
    "---\n"
    "tape:\n"
    "  rows:\n"
    "    - {from: <1>, to: <2>, read: 3.000}\n"
    "    - {from: <2>, to: <3>, read: 4.000}\n"
    "    - {from: <3>, to: <1>, read: 9.010}\n"
    "    - {from: <4>, to: <8>x, read: 5.010}\n"
    "    - {from: <1>g, to: <2>g, read: 6.020}\n"
    "    - {from: <2>g, to: <3>g, read: 3.163}\n"
    "    - {from: <3>g, to: <4>g, read: 5.523}\n"
    "    - {from: <4>g, to: <1>g, read: 2.060}\n"
    "---\n"
    "points:\n"
    "  <1>g: {x: 1, y: 1, kind: ground}\n"
    "  <2>g: {x: 7, y: 0.5, kind: ground}\n"
    "  <3>g: {x: 6, y: 3.5, kind: ground}\n"
    "  <4>g: {x: 0.5, y: 3, kind: ground}\n"
    "  <5>g: {x: 4, y: -2, kind: ground}\n"
    "---\n"
    "levels:\n"
    "  readings:\n"
    "    - {at: <1>, bs: 1.482}\n"
    "    - {at: <1>g, on: ground, is: 1.500}\n"
    "    - {at: <2>g, on: ground, is: 1.610}\n"
    "    - {at: <3>g, on: ground, is: 1.390}\n"
    "    - {at: <4>g, on: ground, is: 1.420}\n"
    "    - {at: <5>g, on: ground, is: 1.430}\n"
    "    - {at: <6>1, on: ground, is: 1.510}\n"
    "    - {at: <6>1, on: hole, is: 2.700}\n"
    "    - {at: <6>2, on: ground, is: 1.530}\n"
    "    - {at: <6>2, on: hole, is: 2.610}\n"
    "    - {at: <6>2, on: top, is: 2.470}\n"
    "    - {at: <6>3, on: hole, is: 2.500}\n"
    "    - {at: <6>4, on: ground, is: 1.520}\n"
    "    - {at: <5>ka1, on: batten, is: 1.300}\n"
    "    - {at: <1>, fs: 1.483}\n"
    "---\n"
    "set:\n"
    "  row: <6>\n"
    "  gap: 140 mm\n"
    "  tolerance: {line: 5 mm, height: 5 mm, plumb: 5 mm in 1 m}\n"
    "  reveal: 1.8\n"
    "  rows:\n"
    "    - {at: <6>1, gap: 141 mm, lean: {in: 3 mm in 1 m, end: 9 mm in 1 m}}\n"
    "    - {at: <6>2, low: 139 mm, high: 151 mm, apart: 1 m}\n"
    "    - {at: <6>5, gap: 180 mm, note: <J>}\n"
    "    - {at: <6>4, gap: -1 mm}\n";

/* Names have 80 bytes at most; some get two letters more here. */
static const struct hard_names {
    const char *title, *text, *name[8];
} hard_names[] = {
    { "plain", "Lamb field", { "BM1", "BM2", "SW1", "SW2", "A", "G", "NN", "sill" } },
    { "long", "The lower of two lamb fields behind the old pumping station, between the road and the brook, plot three, second "
              "part, as surveyed anew after the winter",
        { "benchmark bolt in the north east corner of the old brick pumping station wall",
            "benchmark cross cut in the kerb of the bridge over the brook by the lower gate",
            "batten board at the south west corner of the building, string of the long side",
            "batten board at the south east corner of the building, string of the long side",
            "post hole in the row along the south side, counted from the west-",
            "ground at a corner of the squares that the pad was divided into-",
            "batten board that nobody has read yet: bramble is in front of it-",
            "finish grade of the strings as the drawing of the second of May has it-" } },
    { "solid", "aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa",
        { "bbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbb1",
            "bbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbb2",
            "bbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbb3",
            "bbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbb4",
            "pppppppppppppppppppppppppppppppppppppppppppppppppppppppppppppppppp-",
            "gggggggggggggggggggggggggggggggggggggggggggggggggggggggggggggggggggg",
            "nnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnn",
            "llllllllllllllllllllllllllllllllllllllllllllllllllllllllllllllllllllllllll" } },
    { "wide", "\xe4\xb8\x8b\xe3\x81\xae\xe7\x94\xb0 \xe4\xb8\x8b\xe3\x81\xae\xe7\x94\xb0 \xe4\xb8\x8b\xe3\x81\xae\xe7\x94\xb0",
        { "\xe5\x9f\xba\xe6\xba\x96\xe7\x82\xb9\xe4\xb8\x80\xe5\x8f\xb7\xe5\x8c\x97\xe3\x81\xae\xe5\xa1\x80\xe3\x81\xae\xe8\xa7\x92\xe3\x81\xae\xe9\x8b\xb2", "\xe5\x9f\xba\xe6\xba\x96\xe7\x82\xb9\xe4\xba\x8c",
            "Stra\xc3\x9f" "e S\xc3\xbc" "d", "\xd0\xa1\xd0\xb2\xd0\xb0\xd1\x8f 4", "\xe6\x9f\xb1", "\xe5\x9c\xb0", "e\xcc\x81tai", "\xe9\xab\x98" } },
    { "hostile", "=2+5 \"quoted\", comma; 'single' \\ <b> & \t null",
        { "=1+1", "+2", "-3", "@4", "a,\"b\"", "null", "true", "\\\\,;'<script>" } },
};
#define HARD_NAMES (sizeof hard_names / sizeof hard_names[0])

/* What becomes another record when `instead_of` is `with`; NULL: nothing. */
static const struct hard_edit {
    const char *title, *instead_of, *with;
} hard_edits[] = {
    { "as it is", NULL, NULL },
    { "outside", "fs: 1.609", "fs: 1.709" },
    { "nothing allowed", "allow: {misclosure: 4 mm, per: root-setup}\n", "" },
    { "section outside", "rise: 1.275", "rise: 1.375" },
    { "least squares", "sigma: 0.0006\n", "sigma: 0.0006\nspread: least-squares\n" },
    { "not closed", "    - {at: <1>, fs: 1.609, dist: 29}\n", "" },
    { "backsight struck", "row: 2,", "row: 1," },
};
#define HARD_EDITS (sizeof hard_edits / sizeof hard_edits[0])

static inline char *
hard_quoted(char *p, const char *text)
{
    for (; *text; text++) {
        if (*text == '"' || *text == '\\')
            *p++ = '\\';
        *p++ = *text;
    }
    return p;
}

static inline bool
hard_goes_on(char c)
{
    return (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9');
}

/* A record under those names, with that edit; free() it. */
static inline char *
hard_record(const char *text, const struct hard_names *names, const struct hard_edit *edit)
{
    char *out = malloc(strlen(text) * 16 + 4096), *p = out;
    assert_non_null(out);
    const char *cut = edit->instead_of ? strstr(text, edit->instead_of) : NULL;
    while (*text) {
        const char *more = text == cut ? edit->with : NULL;
        if (more) { /* what is put in has names only where nothing is taken out */
            p = stpcpy(p, more);
            text += strlen(edit->instead_of);
            continue;
        }
        if (text[0] != '<' || text[1] == '\0' || text[2] != '>') {
            *p++ = *text++;
            continue;
        }
        *p++ = '"';
        p = hard_quoted(p, text[1] == 'J' ? names->text : names->name[text[1] - '1']);
        for (text += 3; hard_goes_on(*text);)
            *p++ = *text++;
        *p++ = '"';
    }
    *p = '\0';
    return out;
}

typedef void hard_take(void *with, const char *title, const char *bytes, size_t n);

/* The record of two days: whole, sealed, with a figure altered, and torn. */
static inline void
hard_each_sealed(hard_take *take, void *with)
{
    struct seal_key key = demo_key("ours");
    struct scan_end end;
    for (uint32_t altered = 0; altered <= 4; altered += 4) {
        struct append_text t = demo_record(DEMO_LAST, &key, 0, &end);
        if (altered) {
            char *figure = memmem(t.bytes, t.n, "1.307", 5);
            assert_non_null(figure);
            figure[4] = '9';
        }
        take(with, altered ? "sealed-altered" : "sealed", t.bytes, t.n);
        if (!altered)
            take(with, "sealed-torn", t.bytes, t.n - 20);
        append_text_release(&t);
    }
    struct append_text t = demo_record(DEMO_LAST, NULL, 0, &end);
    take(with, "not-sealed", t.bytes, t.n);
    append_text_release(&t);
}

/* Every record: its title, and its bytes as long as take() runs. */
static inline void
hard_each(hard_take *take, void *with)
{
    char title[80];
    for (size_t i = 0; i < HARD_NAMES; i++)
        for (size_t k = 0; k < (i == 0 ? HARD_EDITS : 2); k++) {
            char *text = hard_record(hard_whole, &hard_names[i], &hard_edits[k]);
            snprintf(title, sizeof title, "%s-%s", hard_names[i].title, hard_edits[k].title);
            take(with, title, text, strlen(text));
            free(text);
        }
    for (size_t i = 0; i < 2 * HARD_NAMES; i++) {
        bool inches = i < HARD_NAMES;
        const struct hard_names *names = &hard_names[i % HARD_NAMES];
        char *text = hard_record(inches ? hard_inches : hard_built, names, &hard_edits[0]);
        snprintf(title, sizeof title, "%s-%s", inches ? "inches" : "built", names->title);
        take(with, title, text, strlen(text));
        free(text);
    }
    hard_each_sealed(take, with);
}

#endif
