#include "rodbook/stake.h"

struct site_move
site_move(length adjusted, length grade, length tolerance)
{
    length move = grade - adjusted, size = move < 0 ? -move : move;
    return (struct site_move){ .cut = move < 0 ? size : 0, .fill = move > 0 ? size : 0, .move = move,
        .leave = size == 0 || size < tolerance };
}

double
site_decides_below(struct site_move move, length tolerance)
{
    length off = move.cut + move.fill;
    return (double)(move.leave ? 2 * tolerance - off : off) / (double)LENGTH_M;
}

length
site_grade_rod(length hi, length grade)
{
    return hi - grade;
}

length
site_offset(length grade_rod, length whole, length *rod)
{
    length units = (-grade_rod + whole - 1) / whole;
    *rod = grade_rod + units * whole;
    return units * whole;
}

enum site_moved
site_judge_moved(struct site_move before, struct site_move now)
{
    if (now.leave)
        return SITE_DONE;
    if (before.leave)
        return SITE_DISTURBED;
    bool same_side = (before.move < 0) == (now.move < 0);
    if (!same_side)
        return SITE_PAST;
    length was = before.cut + before.fill, is = now.cut + now.fill;
    return is > was ? SITE_WRONG_WAY : SITE_SHORT;
}
