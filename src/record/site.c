/* site.c - the building: footprint, posts, strings, battens */
#include "entries.h"

void
take_site(struct reader *in, void *at, const struct field *field)
{
    (void)at;
    complain(in, "no-kind", "%s is not read yet", field->key);
}
