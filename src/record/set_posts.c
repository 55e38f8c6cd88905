/* set_posts.c - posts as they stand after setting */
#include "entries.h"

void
take_set(struct reader *in, void *at, const struct field *field)
{
    (void)at;
    complain(in, "no-kind", "%s is not read yet", field->key);
}
