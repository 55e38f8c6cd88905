/* parts.h - what the files of this room share. Private to the job. */
#ifndef JOB_PARTS_H
#define JOB_PARTS_H

#include "rodbook/adjust.h"
#include "rodbook/booking.h"
#include "rodbook/posts.h"

#define DIAG_NAMES 8 /* names in a complaint before "and N more" */

static inline const char *
job_name(const struct job *job, uint32_t name)
{
    return names_text(&job->r->names, name);
}

/* Sights of a row that stand. */
static inline bool
row_ahead_live(const struct record_row *row)
{
    return (row->flags & (RECORD_HAS_IS | RECORD_HAS_FS)) && !(row->flags & RECORD_STRUCK_AHEAD);
}

static inline bool
row_bs_live(const struct record_row *row)
{
    return (row->flags & RECORD_HAS_BS) && !(row->flags & RECORD_STRUCK_BS);
}

/* The spot of a point and what it stands on, at its last position; made now if it is new. */
uint32_t job_spot_number(struct job *job, uint32_t at, uint32_t on);

/* Sight lengths of a row: as booked, else from three wires; -1. */
struct record_dist job_dist_of(const struct job *job, const struct record_row *row);

/* Sights, legs and spots from the record's runs. -1 without memory. */
int job_tie(struct job *job, struct diag *d);

/* How the job spreads, and what it allows. */
struct level_rules job_rules(const struct record_job *job, bool spread_anyway);

/* The place of a point; false where it has none. */
bool job_place_of(const struct job *job, uint32_t name, struct site_place *place);

/* What stands at a point, as a bit of record_grade.serves. */
uint32_t job_kind_bit(const struct job *job, uint32_t point, uint32_t on);

/* The set-up that rods are asked for; LEVEL_NONE where the options name none. False: said. */
bool job_named_setup(const struct job *job, const struct job_options *o, uint32_t *setup, struct diag *d);

/* The job's last set-up; LEVEL_NONE. */
uint32_t job_last_setup(const struct job *job);

/* The ground at a point, as last read: on the ground, or on the point itself where that is ground; JOB_NONE. */
uint32_t job_ground_of(const struct job *job, uint32_t name);

/* What holes entries ask of each of n posts, and of all: what is not stated of one is as it is of all. post_of [names]: the
 * index of a post, or JOB_NONE. */
struct posts_asked job_asked(const struct record *r, const uint32_t *post_of, struct posts_asked *asked, size_t n);

/* No grade has the name that was asked for; the record has some. */
void job_say_no_such_grade(const struct job *job, const char *only, struct diag *d);

/* Elevations by least squares, in the place of those that were spread by legs. `a` is the net that they come from; its
 * corrections are in the elevations then. adjust_release() in any case. -1 without memory. */
int job_least_squares(struct job *job, struct adjust *a, struct diag *d);

/* A grade as the record states it, with the elevations of the marks that it goes through. What it lacks is said. */
void job_grade_of(const struct job *job, const struct record_grade *g, struct job_grade *out, struct diag *d);

/* Sets of numbers, each known by its lowest: which set a number is in, and two sets made one. */
uint32_t adjust_root(uint32_t *set, uint32_t number);
void adjust_join(uint32_t *set, uint32_t x, uint32_t y);

/* Grades and stakes; `net` is what the job was adjusted by, or NULL. -1 without memory. */
int job_stake_out(struct job *job, const struct job_options *options, const struct adjust *net, struct diag *d);

struct settings;
struct setting_row;

/* Posts of a row in their order along it, and the words for its sides. -1 without memory. */
int setting_place(const struct settings *s, struct setting_row *row, struct diag *d);

/* ---- booking ---- */

/* One sight, as it changes a booking. */
struct booking_sight {
    uint32_t at;
    enum record_on on;
    enum level_kind kind;
    length reading;
    length dist; /* -1 */
    bool moved;
};

/* The spot of a name, with room made for it; NULL without memory. */
struct booking_spot *booking_spot_of(struct booking *b, uint32_t at, uint32_t on);

/* A backsight, or a sight ahead, on a state. `spot` is that of the point, and *becomes what it becomes. */
void booking_step_bs(struct booking_state *st, const struct booking_sight *s, const struct booking_spot *spot,
    struct booking_spot *becomes);
void booking_step_ahead(const struct booking *b, struct booking_state *st, const struct booking_sight *s,
    const struct booking_spot *spot, struct booking_spot *becomes, struct booking_closure *closure);

/* The line goes on from the spot it has just turned on. -1 without memory. */
int booking_turn_on(struct booking *b, const struct booking_state *st, uint32_t spot);

/* The line begins on the job as the whole record has it. Until it is booked, the run before it is forgotten. -1 without memory. */
int booking_take_whole(struct booking *b);

/* A state in which the next sight begins a run. */
void booking_begin_run(struct booking_state *st);

/* Room for one more row of the past; NULL without memory. */
struct booking_past *booking_new_past(struct booking *b);

#endif
