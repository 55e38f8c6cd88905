/*
 * record.h - the record of one job: its bytes to entries
 *
 * A record is read whole and strictly: every fault is said, none is guessed
 * over. What comes out is what the crew booked, in booking order, with names
 * as numbers, lengths in nanometres, and struck rows still in their places.
 * What it means (set-ups, loops, grades) is no matter of this room.
 *
 * docs/record.md is the users' copy of what is read here.
 */
#ifndef RODBOOK_RECORD_H
#define RODBOOK_RECORD_H

#include "rodbook/length.h"
#include "rodbook/scan.h"
#include "rodbook/source.h"
#include "rodbook/text.h"

#define RECORD_NONE UINT32_MAX /* no such index */
#define RECORD_DEEPEST 16      /* nesting that is read; record.md, "Shape" */

/* The longest reading where the job states no rod: 30 m. The longest levelling
 * rods sold are 7.6 m (25 ft); the rest is room for a tape hung from a roof. */
#define RECORD_ROD_MOST (30 * LENGTH_M)

enum record_allow_per {
    RECORD_ALLOW_NONE, /* nothing is judged */
    RECORD_ALLOW_JOB,  /* a fixed amount */
    RECORD_ALLOW_ROOT_SETUP,
    RECORD_ALLOW_ROOT_KM,
    RECORD_ALLOW_ROOT_MILE
};

enum record_spread { RECORD_SPREAD_SETUPS, RECORD_SPREAD_DISTANCE, RECORD_SPREAD_LEAST_SQUARES };

struct record_job {
    uint32_t name;  /* a text; RECORD_NONE until read */
    uint32_t place; /* a text, or RECORD_NONE */
    enum length_unit unit;
    length least;      /* smallest division read on the rod */
    length rod_length; /* 0 when not stated */
    double allow_nm;   /* the coefficient: nm, nm per root set-up, per root km or mile */
    enum record_allow_per allow_per;
    enum record_spread spread;
    double sigma;    /* metres; standard deviation of one reading; half of least when left out */
    double sigma_km; /* metres; of a section of 1 km; 0 when not stated */
    struct diag_place allow_place, spread_place;
};

enum record_kind {
    RECORD_FAULTY, /* torn, damaged, or of a kind that could not be read */
    RECORD_JOB,
    RECORD_MARKS,
    RECORD_POINTS,
    RECORD_GRADE,
    RECORD_LEVELS,
    RECORD_SECTIONS,
    RECORD_STRIKE,
    RECORD_SEAL,
    RECORD_PLAN,
    RECORD_SITE,
    RECORD_TAPE,
    RECORD_HOLES,
    RECORD_CONCRETE,
    RECORD_SET_POSTS,
    RECORD_PAD
};

struct record_entry {
    uint32_t line;
    enum record_kind kind;
    bool torn;      /* cut off before its digest line: of kind RECORD_FAULTY, and said */
    bool sealed;    /* its digest line is whole... */
    bool broken;    /* ...and does not fit what stands above it: said */
    uint8_t seal;   /* enum seal_state */
    uint32_t by;    /* a text: initials; or RECORD_NONE */
    uint32_t time;  /* a text, as written; or RECORD_NONE */
    uint32_t rows;  /* of levels, sections and tape: rows booked in it, struck included */
    uint32_t first; /* and its first row in record.row, record.section or record.taped */
    uint32_t head;  /* and its record.run, or RECORD_NONE */
};

struct record_mark {
    uint32_t name;
    length elevation;
    double sigma; /* metres; 0: held */
    uint32_t entry;
    struct diag_place place;
};

enum record_point_kind {
    RECORD_POINT_BATTEN,
    RECORD_POINT_POST,
    RECORD_POINT_CORNER,
    RECORD_POINT_GROUND,
    RECORD_POINT_FOOTING,
    RECORD_POINT_KINDS /* their count; and "not said" */
};

struct record_point {
    uint32_t name;
    length x, y;
    bool placed; /* x and y were given */
    bool derived; /* from a site entry, and no points entry has it */
    enum record_point_kind kind;
    uint32_t entry;
    struct diag_place place;
};

/* Where the instrument stood: a point named "set-up 5.1". It is for the drawing alone, and no point of the record's. */
struct record_stand {
    uint32_t name;
    uint32_t setup_entry, setup_number; /* of the set-up, from 1 */
    length x, y;
    uint32_t entry;
    struct diag_place place;
};

/* What the rod stood on. A point and this together name one elevation. */
enum record_on { RECORD_ON_MARK, RECORD_ON_BATTEN, RECORD_ON_GROUND, RECORD_ON_HOLE, RECORD_ON_POST, RECORD_ON_TOP,
    RECORD_ON_COUNT };

struct record_through {
    uint32_t at; /* a name */
    enum record_on on;
    length plus;
};

enum record_towards { RECORD_TOWARDS_LENGTH, RECORD_TOWARDS_WIDTH, RECORD_TOWARDS_POINT };

struct record_slope {
    bool given;
    int64_t rise, run; /* rise / run, lowest terms, run above 0; rise below 0 for a fall */
    enum record_towards towards;
    uint32_t point; /* a name, with RECORD_TOWARDS_POINT */
};

struct record_grade {
    uint32_t name;
    bool subgrade;    /* means: subgrade; else finish */
    uint32_t serves;  /* bit for each enum record_point_kind; all when left out */
    uint32_t through; /* 0: level is given; 1 or 3: count of `at` */
    length level;
    struct record_through at[3];
    struct record_slope slope;
    length tolerance; /* 0 when not stated */
    bool has_tolerance;
    uint32_t entry;
    struct diag_place place, through_place, slope_place; /* the latter two are `place` where not given */
};

/* Flags of a row. "Ahead" is the intermediate sight or foresight. */
enum {
    RECORD_HAS_BS = 1,
    RECORD_HAS_IS = 2,
    RECORD_HAS_FS = 4,
    RECORD_MOVED = 8,
    RECORD_STRUCK_BS = 16,
    RECORD_STRUCK_AHEAD = 32,
    RECORD_BREAK_AHEAD = 64, /* the run is broken behind the sight ahead: a foresight is struck and not replaced */
    RECORD_BREAK_BS = 128    /* the run is broken behind the row: a backsight is struck and not replaced */
};

/* 32 bytes, for a record may hold a million. */
struct record_row {
    length bs;
    length ahead;
    uint32_t at; /* a name */
    uint32_t line;
    uint32_t more; /* index into record.dist; with RECORD_EXTRA set, into record.extra; RECORD_NONE */
    uint16_t column;
    uint8_t on; /* enum record_on */
    uint8_t flags;
};

#define RECORD_EXTRA UINT32_C(0x80000000)

struct record_dist {
    length ahead, bs; /* sight lengths; -1 when not booked */
};

/* What only a few rows carry. */
struct record_extra {
    struct record_dist dist;
    length wire_ahead[3], wire_bs[3]; /* upper, middle, lower */
    uint8_t wires;                    /* RECORD_HAS_... bits of the sights read on three wires */
    uint32_t page;                    /* RECORD_NONE when not said */
    uint32_t note;                    /* a text, or RECORD_NONE */
    uint32_t strike_ahead, strike_bs; /* index into record.strike, or RECORD_NONE */
    uint32_t for_entry, for_row;      /* as written; 0 when not said */
    uint32_t base;                    /* of a replacement: the row that was booked first; else RECORD_NONE */
    uint8_t replaced;                 /* RECORD_STRUCK_... bits of the sights that a later row stands in for */
    uint8_t missed;                   /* and of a row booked first, of those that the run wants and nothing gives */
    struct diag_place for_place;
};

struct record_section {
    uint32_t from, to; /* names; marks, read on the point itself */
    length rise;
    length dist;      /* -1 when not booked */
    uint32_t setups;  /* 0 when not booked */
    double sigma;     /* metres; 0 when not booked */
    uint32_t note;    /* a text, or RECORD_NONE */
    uint32_t entry, number;
    uint32_t strike; /* index into record.strike, or RECORD_NONE */
    struct diag_place place;
};

enum record_sight { RECORD_WHOLE_ROW, RECORD_SIGHT_BS, RECORD_SIGHT_FS };

struct record_strike {
    uint32_t target_entry, target_row; /* numbers, as written */
    enum record_sight sight;
    uint32_t reason; /* a text */
    uint32_t entry;  /* index of the strike's own entry */
    struct diag_place place;
};

struct record_seal {
    uint32_t key;   /* a text: the public key in digits */
    uint32_t entry; /* index; whether the signature fits stands there */
};

/* What is meant to be read, before anything is: no reading, and never mixed with any. */
struct record_plan {
    uint32_t name; /* a text, or RECORD_NONE */
    uint32_t entry;
    uint32_t first, setups; /* its set-ups: record.plan_setup[first ... first + setups - 1] */
};

struct record_plan_setup {
    uint32_t from, to; /* names: backsight and foresight, on the point itself; `to` RECORD_NONE where it stays open */
    length dist;       /* of each of its sights; -1 when not said */
    uint32_t first, sights; /* between the two: record.plan_sight[first ... first + sights - 1] */
    struct diag_place place;
};

struct record_plan_sight {
    uint32_t at; /* a name */
    enum record_on on;
};

/* ---- the building ---- */

enum record_wall {
    RECORD_WALL_FRONT, /* y = 0, walked with x */
    RECORD_WALL_BACK,  /* y = across, walked with x */
    RECORD_WALL_START, /* x = 0, walked with y */
    RECORD_WALL_END,   /* x = along, walked with y */
    RECORD_WALL_INSIDE /* y = in, walked with x */
};

/* A row of posts; its posts are named by it and a number from 1: A1, A2. */
struct record_site_row {
    uint32_t name;
    enum record_wall wall;
    length in;             /* of an inside row */
    length spacing;        /* 0: a list of places */
    uint32_t first, count; /* that list: record.site_place[first ... first + count - 1], centres, from the row's beginning */
    struct diag_place place;
    struct diag_place list_place; /* of spacing or at */
    struct diag_place in_place;   /* of in */
};

/* A gap without posts, door posts on both sides of it. */
struct record_site_door {
    uint32_t row;   /* a name, as written */
    length from, to; /* clear opening, from the row's beginning */
    struct diag_place place;
};

struct record_site {
    length along, across;           /* footprint, outside to outside */
    length post_along, post_across; /* size of a post, along the building's length and across it */
    length nailed;                  /* thickness of what is nailed outside the posts: their faces stand in by it */
    length string;                  /* of the strings, outside those faces */
    length set_back;                /* battens outside the footprint, at least */
    uint32_t corner[4];             /* names: first corner, along the length, opposite, along the width */
    uint32_t first_row, rows;       /* record.site_row */
    uint32_t first_door, doors;     /* record.site_door */
    bool has_string, has_set_back, has_corners; /* else they are what is usual */
    bool has_north;
    double north;                   /* degrees, its bearing clockwise from the width direction as seen from above; 0 up to 360 */
    uint32_t entry;
    struct diag_place place;
    struct diag_place post_place, string_place, corners_place; /* `place` where not given */
};

/* ---- measured lengths ---- */

/* What is known of a tape; bits of record_tape.has. */
enum {
    RECORD_TAPE_LENGTH = 1,    /* nominal and actual */
    RECORD_TAPE_TEMP = 2,
    RECORD_TAPE_PULL = 4,
    RECORD_TAPE_WEIGHT = 8,    /* with weighed, or nominal for it */
    RECORD_TAPE_AREA = 16,
    RECORD_TAPE_MODULUS = 32,
    RECORD_TAPE_EXPANSION = 64
};

/* One entry of taped lengths. One that does not continue another is a position of what it measures. */
struct record_tape {
    uint32_t entry;          /* index */
    uint32_t continues;      /* an entry's number, as written; 0: none */
    uint32_t head;           /* index into record.tape: itself, or the one that it adds to */
    uint32_t date, tape, crew, note; /* texts, or RECORD_NONE */
    double sigma;            /* m, of one taped length; 0 when not stated */
    length tolerance;        /* 0 when not stated */
    uint32_t corner[4];      /* names, round the frame; corner[0] RECORD_NONE when not stated */
    unsigned has;            /* RECORD_TAPE_... */
    length nominal, actual;  /* at the standard temperature and pull; nominal 0 when not stated */
    length weighed;          /* of how much tape `weight` is; 0 when not stated: of nominal */
    double temp;             /* standard, C */
    double pull;             /* standard, N */
    double weight;           /* kg */
    double area;             /* m^2, of its section */
    double modulus;          /* Pa */
    double expansion;        /* per K */
    struct diag_place place, continues_place;
};

/* Flags of a taped length. */
enum { RECORD_TAPED_TEMP = 1, RECORD_TAPED_PULL = 2, RECORD_TAPED_RISE = 4, RECORD_TAPED_SLOPE = 8 };

struct record_taped {
    uint32_t from, to;        /* names */
    length read;              /* as it stood on the tape */
    unsigned has;             /* RECORD_TAPED_... */
    double temp;              /* C, of the tape */
    double pull;              /* N */
    length rise;              /* between its ends, either sign */
    double slope;             /* radians from level */
    uint32_t first, spans;    /* hung unsupported: record.tape_span[first ... first + spans - 1] */
    uint32_t note;            /* a text, or RECORD_NONE */
    uint32_t strike;          /* index into record.strike, or RECORD_NONE */
    uint32_t tape, number;    /* index into record.tape; row of its entry, from 1 */
    struct diag_place place;
};

/* ---- holes and posts ---- */

enum record_depth_from { RECORD_FROM_GROUND, RECORD_FROM_GRADE };
enum record_depth_to { RECORD_TO_BOTTOM, RECORD_TO_TOP };

/* What holes and posts are to be: of all posts, or of one. What is not stated is -1 and stays as an earlier entry has it. */
struct record_hole {
    uint32_t post;      /* a name; RECORD_NONE: all */
    length depth;       /* required */
    int from;           /* enum record_depth_from: the depth is measured from there... */
    int to;             /* ...to the bottom or the top of the footing; enum record_depth_to */
    length footing;     /* thickness of the footing under the post */
    length diameter;
    length post_length; /* as bought */
    length top;         /* of the post's top above the grade that post marks are at */
    uint32_t grade;     /* a name: the grade that `from: grade` means; RECORD_NONE: the one that post marks are at */
    uint32_t source;    /* a text: who says so; RECORD_NONE */
    uint32_t entry;
    struct diag_place place;
};

/* ---- concrete ---- */

enum record_fill { RECORD_FILL_TO_GROUND, RECORD_FILL_BELOW_GROUND, RECORD_FILL_THICK };
enum record_footing { RECORD_FOOTING_POURED, RECORD_FOOTING_LAID };

/* What goes into the holes. The last such entry holds whole. */
struct record_concrete {
    length post_along, post_across; /* section; 0: not stated here */
    bool post_round;                /* then both are its diameter */
    length bell_diameter, bell_height, collar_diameter, collar_height; /* 0: none */
    enum record_fill fill;
    length fill_by;      /* below ground, or thick */
    int footing;         /* enum record_footing; -1: not stated */
    double waste;        /* share of the volume; below 0: not stated */
    double bag_yield;    /* m^3; 0: not stated */
    double bag_mass;     /* kg; 0: not stated */
    double step;         /* m^3: a load is ordered in steps of it; 0: not stated */
    double bulking;      /* share by which what is dug swells; below 0: not stated */
    length slump;        /* 0: not stated */
    uint32_t entry;
    struct diag_place place;
};

/* ---- the pad ---- */

enum record_pad_method { RECORD_PAD_EITHER, RECORD_PAD_SQUARES, RECORD_PAD_TRIANGLES };

/* What is dug and filled to a grade, and the stone on it. */
struct record_pad {
    uint32_t grade;       /* a name; RECORD_NONE: `level` */
    length level;         /* of the subgrade */
    uint32_t first, spots; /* names: record.pad_spot[first ... first + spots - 1]; 0: all ground that has a place */
    enum record_pad_method method;
    bool bounded;         /* x to margin are stated... */
    bool by_site;         /* ...by the footprint of the site entry, and along and across are not set */
    length x, y;          /* corner of the pad without its margin; 0 when not stated */
    length along, across; /* without its margin */
    length margin;        /* beyond that on every side; 0 when not stated */
    length stone;         /* thickness; 0: not stated */
    double density;       /* kg/m3, of the stone as it lies; 0: not stated */
    uint32_t density_text; /* a text: as it was written; RECORD_NONE */
    uint32_t source;      /* a text: who says so; RECORD_NONE */
    double swell;         /* share by which dug earth takes up more when loose; below 0: not stated */
    uint32_t entry;
    struct diag_place place, grade_place, margin_place, stone_place, spots_place; /* all but the first are `place` where not given */
};

/* ---- posts after setting ---- */

#define RECORD_GAP_MOST LENGTH_M           /* a gap that is longer was meant in another unit; in feet: */
#define RECORD_GAP_MOST_FT (3 * LENGTH_FT)

#define RECORD_SET_MOST 1000 /* posts of one entry: a mile of them; each is held against each */

/* Which side of the posts the string is on; left and right as seen from the row's beginning. */
enum record_side { RECORD_SIDE_OUT, RECORD_SIDE_IN, RECORD_SIDE_LEFT, RECORD_SIDE_RIGHT, RECORD_SIDE_UNSAID };

/* Which way a post's top leans. */
enum record_lean_way { RECORD_LEAN_IN, RECORD_LEAN_OUT, RECORD_LEAN_LEFT, RECORD_LEAN_RIGHT, RECORD_LEAN_START, RECORD_LEAN_END,
    RECORD_LEAN_UNSAID /* along the row, and nobody said which way */ };

/* So much to the side in so much height. */
struct record_lean {
    length rise, over; /* over 0: not given; else above 0, and rise 0 or more */
    enum record_lean_way way;
};

/* One post as it was measured. */
struct record_set_row {
    uint32_t at;             /* a name */
    bool has_gap, has_two;
    length gap;              /* face to string, square to it, at the string; below 0: past where the string should be */
    length low, high, apart; /* has_two: the same at two heights, and how far these are apart, above 0 */
    struct record_lean across, along; /* by a level */
    uint32_t note;           /* a text, or RECORD_NONE */
    struct diag_place place;
};

/* A row of posts, measured once. */
struct record_set {
    uint32_t row;              /* a name */
    uint32_t date;             /* a text, or RECORD_NONE */
    bool has_gap;
    length gap;                /* what each face should be off the string */
    double sigma;              /* m, of one gap; 0 when not stated */
    enum record_side side;
    length line, height;       /* tolerances; 0: not stated */
    length plumb_rise, plumb_over; /* and of plumb: so much in so much height; over 0: not stated */
    bool has_reveal;
    length reveal;             /* of the tops above the grade */
    uint32_t first, posts;     /* record.set_row[first ... first + posts - 1] */
    uint32_t entry;
    struct diag_place place, side_place;
};

/* A levels or sections entry that continues no other, with all that continues it. */
struct record_run {
    uint32_t entry;     /* index */
    uint32_t first_row; /* levels: head of the list of rows; RECORD_NONE when empty */
    uint32_t last_row;
    bool sections; /* then its rows are record.section[first_row ... last_row] */
    uint32_t date, instrument, observer, rodman, weather, note; /* texts, or RECORD_NONE */
};

/* A levels entry that adds to another. */
struct record_continuation {
    uint32_t entry;  /* index */
    uint32_t target; /* number, as written */
    struct diag_place place;
};

/* The rows of one levels entry stand together in record.row. */
struct record_span {
    uint32_t first; /* its first row */
    uint32_t entry; /* index */
};

struct record {
    struct names names; /* of points, marks and grades */
    struct names texts; /* free text, times, initials */
    struct record_job job;
    bool has_job;
    struct record_entry *entry;
    size_t entries, entry_room;
    struct record_mark *mark;
    size_t marks, mark_room;
    struct record_point *point;
    size_t points, point_room;
    struct record_stand *stand; /* the last of each name holds */
    size_t stands, stand_room;
    struct record_grade *grade;
    size_t grades, grade_room;
    struct record_row *row;
    size_t rows, row_room;
    struct record_dist *dist;
    size_t dists, dist_room;
    struct record_extra *extra;
    size_t extras, extra_room;
    struct record_section *section;
    size_t sections, section_room;
    struct record_strike *strike;
    size_t strikes, strike_room;
    struct record_seal *seal;
    size_t seals, seal_room;
    struct record_plan *plan;
    size_t plans, plan_room;
    struct record_plan_setup *plan_setup;
    size_t plan_setups, plan_setup_room;
    struct record_plan_sight *plan_sight;
    size_t plan_sights, plan_sight_room;
    struct record_site *site; /* the last one holds */
    size_t sites, site_room;
    struct record_site_row *site_row;
    size_t site_rows, site_row_room;
    struct record_site_door *site_door;
    size_t site_doors, site_door_room;
    length *site_place;
    size_t site_places, site_place_room;
    struct record_tape *tape;
    size_t tapes, tape_room;
    struct record_taped *taped;
    size_t tapeds, taped_room;
    length *tape_span;
    size_t tape_spans, tape_span_room;
    struct record_hole *hole;
    size_t holes, hole_room;
    struct record_concrete *concrete; /* the last one holds */
    size_t concretes, concrete_room;
    struct record_pad *pad; /* the last one holds */
    size_t pads, pad_room;
    uint32_t *pad_spot;
    size_t pad_spots, pad_spot_room;
    struct record_set *set;
    size_t sets, set_room;
    struct record_set_row *set_row;
    size_t set_rows, set_row_room;
    struct record_run *run;
    size_t runs, run_room;
    struct record_continuation *continuation;
    size_t continuations, continuation_room;
    struct record_span *span;
    size_t spans, span_room;
    uint32_t *next; /* [rows] the row behind each in its run, replacements in their places; NULL where
                       every run is one span in its own order */
    bool three_wire; /* some sight was read on three wires */
    struct scan_chain chain; /* what its digests say */
};

/*
 * record_read - read the record of a job
 *
 * Given
 *   source     its bytes
 * Returned
 *   r          everything that could be read; released by the caller
 *   d          every fault, at its line and column
 * Result
 *   0, or -1 without memory. Faults are in d->errors: with any, `r` is fit
 *   for looking at and for nothing else.
 */
int record_read(struct record *r, const struct source *source, struct diag *d);

/* The same, for one who will append: `end` is where the record stops. */
int record_read_on(struct record *r, const struct source *source, struct scan_end *end, struct diag *d);

/* The same, of a record that has been scanned already. */
int record_read_scanned(struct record *r, const struct source *source, const struct scan *scan, struct diag *d);

void record_release(struct record *r);

/* The place of a row, for complaints. */
struct diag_place record_row_place(const struct record_row *row);

/* The entry, as index, and the number in it from 1, of row `i`. */
uint32_t record_row_entry(const struct record *r, uint32_t i);
uint32_t record_row_number(const struct record *r, uint32_t i);

/* The row behind row `i` in its run; RECORD_NONE behind the last. */
uint32_t record_row_next(const struct record *r, const struct record_run *run, uint32_t i);

/* The row's extras, or a constant set that says nothing; and its sight lengths. */
const struct record_extra *record_extra(const struct record *r, const struct record_row *row);
struct record_dist record_dist_of(const struct record *r, const struct record_row *row);

/* The record's own word. */
const char *record_on_word(enum record_on on);

/* The same of a kind of point; and the kind of a word, RECORD_POINT_KINDS for none. */
const char *record_kind_word(enum record_point_kind kind);
enum record_point_kind record_kind_of(const char *word, size_t n);

/* A slope as a record has it, "1 in 120", "0.8 %" or "1/8 in per ft", in lowest terms: rise 0 or more, no more than run. False,
 * and outputs untouched, for anything else. */
bool record_read_slope(const char *text, size_t n, int64_t *rise, int64_t *run);

#endif
