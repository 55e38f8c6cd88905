/* slips.h - what a reading should have been, slip by slip. Private to the level. */
#ifndef LEVEL_SLIPS_H
#define LEVEL_SLIPS_H

#include "rodbook/suspect.h"

/* Each gives different values, none as booked, none that the rod cannot show; at most SUSPECT_VARIANTS. */
typedef size_t suspect_variants_of(const struct suspect_scene *scene, uint32_t reading, length *instead);

suspect_variants_of suspect_whole, suspect_tenth, suspect_small, suspect_digits, suspect_six_nine, suspect_three_eight,
    suspect_inches, suspect_beyond_whole, suspect_beyond_small, suspect_sign, suspect_hair;

#endif
