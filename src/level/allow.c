/* allow.c - the allowable misclosure */
#include "rodbook/close.h"

/* What the root is taken of, as count / unit. False where it is not known. */
static bool
root_of(const struct level_rules *rules, uint64_t setups, length dist, length *count, length *unit)
{
    switch (rules->allow) {
    case LEVEL_ALLOW_FIXED:
        *count = *unit = 1;
        return true;
    case LEVEL_ALLOW_ROOT_SETUP:
        *count = (length)setups;
        *unit = 1;
        return setups > 0;
    case LEVEL_ALLOW_ROOT_KM:
        *count = dist;
        *unit = LENGTH_KM;
        return dist > 0;
    case LEVEL_ALLOW_ROOT_MILE:
        *count = dist;
        *unit = LENGTH_MILE;
        return dist > 0;
    case LEVEL_ALLOW_NONE:
        break;
    }
    return false;
}

double
level_allowed(const struct level_rules *rules, uint64_t setups, length dist)
{
    length count, unit;
    if (!root_of(rules, setups, dist, &count, &unit))
        return -1;
    return rules->allow_nm * __builtin_sqrt((double)count / (double)unit);
}

enum level_within
level_judge(const struct level_rules *rules, uint64_t setups, length dist, length misclosure)
{
    /* 10 m: no coefficient and no misclosure worth comparing is larger; squares
     * times 1.6e12 nm a mile and 1e17 nm of line stay below 2^127 = 1.7e38 */
    const length most = 10 * LENGTH_M, longest = INT64_C(100000) * LENGTH_KM;
    length count, unit;
    if (!root_of(rules, setups, dist, &count, &unit))
        return LEVEL_NOT_JUDGED;
    length m = misclosure < 0 ? -misclosure : misclosure;
    if (rules->allow_nm < (double)most && m < most && count < longest) {
        length c = (length)rules->allow_nm;
        if ((double)c == rules->allow_nm)
            return (length_wide)m * m * unit <= (length_wide)c * c * count ? LEVEL_WITHIN : LEVEL_BEYOND;
    }
    return (double)m <= level_allowed(rules, setups, dist) ? LEVEL_WITHIN : LEVEL_BEYOND;
}
