/*
 * booking.h - the run that is being booked: what each reading means while the rod is still on the point
 *
 * A booking knows the job as it stood when the line being booked began, and
 * goes on from there one sight at a time, without working the job out again.
 * Elevations are carried without the corrections of that line, which nobody
 * knows before it closes; they begin at adjusted ones. What is known of the
 * run is made from the record alone: a session that was stopped and started
 * again gives the same answers as one that was not.
 *
 * docs/booking.md has the rules.
 */
#ifndef RODBOOK_BOOKING_H
#define RODBOOK_BOOKING_H

#include "rodbook/job.h"
#include "rodbook/write.h"

/* Sight lengths of a set-up that differ by more than this are asked about.
 * Third-order levelling allows 10 m a set-up: Federal Geodetic Control
 * Committee, Standards and Specifications for Geodetic Control Networks
 * (1984), table of geodetic levelling field procedures (from memory). */
#define BOOKING_UNBALANCED (10 * LENGTH_M)

#define BOOKING_GRADES 4  /* grades shown for one mark */
#define BOOKING_ASKS 6    /* questions about one line */
#define BOOKING_LAST UINT32_MAX /* the run that was begun last */

enum booking_ask {
    BOOKING_DIFFERS,     /* an earlier elevation of the same thing differs: by `size` */
    BOOKING_OFF_MARK,    /* a side shot on a mark reads off it: by `size` */
    BOOKING_TOO_FINE,    /* a last digit finer than the least division */
    BOOKING_ROUND,       /* off its neighbours in the set-up by `size`, just about `round` */
    BOOKING_NOT_BALANCED,/* backsight and foresight lengths differ by `size` */
    BOOKING_HALF_INTERVALS, /* of three wires: differ by `size` */
    BOOKING_NO_ELEVATION /* the point has no known elevation, so nothing read here has one yet */
};

struct booking_question {
    enum booking_ask ask;
    length size;  /* signed where it has a direction: later less earlier */
    length round; /* a foot, a metre, or a tenth of one, that it is just about; 0: none */
    enum level_kind sight; /* whose last digit is too fine */
};

struct booking_closure {
    bool closes;    /* the foresight came home to a known elevation */
    bool inner;     /* to a turning point of its own line */
    bool judged_line; /* the line began on a known elevation, so that the misclosure is its own */
    uint32_t from_at, to_at; /* names */
    enum record_on from_on, to_on;
    length misclosure; /* measured less known */
    length round;      /* a whole foot or metre, or a part of one, that it is just about where it is beyond its limit; else 0 */
    uint64_t setups;
    length dist;       /* -1 where some sight length is not booked */
    double allowed_nm; /* below 0: no limit */
    enum level_within within;
};

/* What one line of sights means. */
struct booking_answer {
    bool has_ahead, has_bs;
    bool ahead_known, known; /* else elevation, and HI, are above the line's first point */
    length elevation;        /* of the sight ahead... */
    length hi;               /* ...and with a backsight, of the instrument */
    uint32_t setup;          /* number of the set-up in its run: the one that the backsight opens, else the one read from */
    uint32_t moves;
    struct booking_move {
        uint32_t grade;      /* into job.grade */
        struct site_move move;
        length grade_rod;
    } move[BOOKING_GRADES];
    struct level_check sums; /* of the run so far */
    bool agrees;             /* its three routes do */
    struct booking_closure closure;
    uint32_t asks;
    struct booking_question ask[BOOKING_ASKS];
    uint32_t stands_for[2][2]; /* entry and row that the sight ahead, and the backsight, stand for; 0: none */
    bool went_on;            /* the sight takes the place of a struck foresight: the set-up goes on */
};

/* The run as it stands. */
struct booking_state {
    uint32_t run_entry;      /* number of its first entry; 0: a sight begins a new run */
    uint32_t setup;          /* set-ups begun */
    bool open;               /* a set-up is open */
    bool turned;             /* the last sight was a foresight, on `turn` */
    bool ended;              /* that came home to a known elevation */
    bool known;
    length hi, raw_hi;       /* from adjusted elevations; and without any correction, for the page check */
    uint32_t turn_at;
    enum record_on turn_on;
    length turn, raw_turn;   /* elevation of that point, both ways */
    length bs_dist;          /* of the open set-up; -1 */
    struct level_check sums;
    struct {
        uint32_t id;         /* its number, one more for each line begun */
        bool held;           /* began on a mark or an adjusted point */
        uint32_t from_at;
        enum record_on from_on;
        bool from_moved;     /* and that was moved since */
        uint64_t setups;     /* ended since; what an inner loop took is taken off again */
        length dist;         /* of these... */
        uint64_t undistanced; /* ...but for so many that say none */
    } line;
    struct {
        uint32_t n;
        length low, high;
    } near[RECORD_ON_COUNT]; /* sights of the open set-up by what the rod stood on */
    size_t filled;           /* struck sights that have been booked again, of those that waited */
};

enum booking_known {
    BOOKING_UNKNOWN,
    BOOKING_READ, /* carried on a line that has not closed */
    BOOKING_HELD, /* adjusted */
    BOOKING_MARK  /* given */
};

/* What is known of a point and what the rod stood on there. */
struct booking_spot {
    uint8_t state;   /* enum booking_known */
    length value;
    uint64_t setups; /* as a turning point of the line: set-ups and length from its start... */
    length dist;
    uint64_t undistanced;
    uint32_t line;   /* ...and which line that was; 0: none */
    bool touched;    /* read since the job was worked out */
};

/* A row of the run that stands. */
struct booking_past {
    uint32_t entry, row;
    enum record_sight sight; /* what of it does */
};

/* A struck sight at the run's end that waits to be booked again: its row is the one booked first. */
struct booking_wait {
    uint32_t entry, row;
    bool bs; /* its backsight; else its foresight */
};

struct booking {
    struct record *r; /* names are added to it, and that a sight was read on three wires; nothing else */
    const struct job *whole; /* the caller's */
    const struct job *job;   /* as it stood when the line began: that, or `base` */
    struct job base;
    struct level_rules rules;
    uint32_t run;     /* number of the first entry of the run last booked in; 0: none */
    struct booking_state now;
    struct booking_spot *spot; /* [spot_room]: RECORD_ON_COUNT to a name */
    size_t spot_room;
    uint32_t *path;   /* [path_room] spots that the line turned on, by set-ups from its start */
    size_t path_room;
    struct booking_past *past;
    size_t pasts, past_room;
    struct booking_wait *wait;
    size_t waits, wait_room;
    struct booking_wait spare; /* an intermediate sight that the record's last entry struck: on the same thing, the next
                                  one stands for it; entry 0: none... */
    uint32_t spare_at;         /* ...and its point */
    enum record_on spare_on;
    bool grown;       /* rows were booked since it was opened... */
    bool closed;      /* ...and closed a line, or ended one: what hangs on that is old */
    bool woven;       /* the job closes lines by one another: then all of it is */
    bool forgotten;   /* the run that was open has given way to another that was not booked in the end */
    /* The line looked at last, for booking_keep(): */
    struct booking_state next;
    uint32_t next_rows;
    uint32_t next_at; /* the spot that changes... */
    struct booking_spot next_spot; /* ...and to what */
    bool next_turns;  /* the line goes on from it */
    bool next_wires;  /* a sight was read on three */
    bool next_closes, next_weaves;
};

/*
 * booking_open - go on where a run of the record stops
 *
 * Given
 *   r, job     read without errors, and worked out as far as that went; both outlive the booking
 *   run        number of the first entry of the run; BOOKING_LAST; or 0 for none
 * Result
 *   0, or -1 without memory
 */
int booking_open(struct booking *b, struct record *r, const struct job *job, uint32_t run);
void booking_release(struct booking *b);

/* The next sight begins a new run. */
void booking_new_run(struct booking *b);

enum booking_status {
    BOOKING_OK,
    BOOKING_REFUSED,  /* said in `d` */
    BOOKING_STALE,    /* work the job out again first: what is known of the point may have changed */
    BOOKING_NO_MEMORY
};

/*
 * booking_look - what a row would mean; nothing is changed
 *
 * Given
 *   row        as line_read() gave it
 *   column     of the line, for complaints
 * Returned
 *   answer
 *   rows[2]    the row, or the two rows, that are to be booked for it, with
 *              what they stand for; *n how many
 */
enum booking_status booking_look(struct booking *b, const struct write_row *row, struct diag_place place,
    struct booking_answer *answer, struct write_row rows[2], size_t *n, struct diag *d);

/* The row looked at last is booked: as the first row, or rows, of this entry. -1 without memory. */
int booking_keep(struct booking *b, uint32_t entry);

/* The row booked last, that undo would strike; NULL where none of the run stands. Once it is struck, open the record again. */
const struct booking_past *booking_last(const struct booking *b);

/* The next struck sight that waits to be booked again, or NULL. */
const struct booking_wait *booking_waits(const struct booking *b);

#endif
