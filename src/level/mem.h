/* mem.h - moving bytes, where there may be no C library to declare it: a compiler provides these by itself */
#ifndef LEVEL_MEM_H
#define LEVEL_MEM_H

#include <stddef.h>

void *memcpy(void *to, const void *from, size_t n);
void *memmove(void *to, const void *from, size_t n);
void *memset(void *to, int byte, size_t n);

#endif
