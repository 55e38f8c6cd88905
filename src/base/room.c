#include "rodbook/room.h"

#include <stdint.h>
#include <stdlib.h>

void *
room_for(void *array, size_t *room, size_t n, size_t size)
{
    if (n < *room)
        return array;
    size_t more = *room + *room / 2 + 16;
    if (more > SIZE_MAX / size)
        return NULL;
    void *grown = realloc(array, more * size);
    if (grown)
        *room = more;
    return grown;
}

void *
room_new(size_t n, size_t size)
{
    return calloc(n > 0 ? n : 1, size);
}
