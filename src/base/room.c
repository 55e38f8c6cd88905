#include "rodbook/room.h"

#include <stdint.h>
#include <stdlib.h>
#include <sys/mman.h>

#define LARGE_PAGE ((size_t)2 << 20) /* bytes; of x86-64 and ARM */

/* Large arrays are filled from end to end: ask for large pages, which cost a
 * five-hundredth of the page faults. Where they are not to be had, nothing changes. */
static void *
with_large_pages(void *array, size_t bytes)
{
#ifdef MADV_HUGEPAGE
    size_t before = (LARGE_PAGE - (uintptr_t)array % LARGE_PAGE) % LARGE_PAGE;
    if (array && bytes >= 2 * LARGE_PAGE)
        (void)madvise((char *)array + before, (bytes - before) / LARGE_PAGE * LARGE_PAGE, MADV_HUGEPAGE);
#endif
    return array;
}

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
    return with_large_pages(grown, more * size);
}

void *
room_new(size_t n, size_t size)
{
    if (n > SIZE_MAX / size)
        return NULL;
    return with_large_pages(calloc(n > 0 ? n : 1, size), n * size);
}
