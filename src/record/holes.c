/* holes.c - what holes and posts are to be */
#include "entries.h"

void
take_holes(struct reader *in, void *at, const struct field *field)
{
    (void)at;
    complain(in, "no-kind", "%s is not read yet", field->key);
}
