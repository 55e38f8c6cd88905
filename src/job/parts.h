/* parts.h - what the files of this room share. Private to the job. */
#ifndef JOB_PARTS_H
#define JOB_PARTS_H

#include "rodbook/job.h"

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

/* Grades and stakes. -1 without memory. */
int job_stake_out(struct job *job, const struct job_options *options, struct diag *d);

#endif
