/* room.h - growing arrays */
#ifndef RODBOOK_ROOM_H
#define RODBOOK_ROOM_H

#include <stdbool.h>
#include <stddef.h>

/*
 * room_for - make room for one more member of a growing array
 *
 * Given
 *   array      the array, or NULL while it is empty; owned by the caller
 *   *room      members that it can hold
 *   n          members that it holds
 *   size       bytes in a member
 * Returned
 *   *room      grown by half where the array was full
 * Result
 *   the array, perhaps elsewhere; NULL without memory, the old one untouched
 */
void *room_for(void *array, size_t *room, size_t n, size_t size);

/* An array of n members, all bytes zero; never NULL for n = 0 when memory is there. */
void *room_new(size_t n, size_t size);

#endif
