/* concrete.c - what is ordered */
#include "entries.h"

void
take_concrete(struct reader *in, void *at, const struct field *field)
{
    (void)at;
    complain(in, "no-kind", "%s is not read yet", field->key);
}
