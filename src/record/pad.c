/* pad.c - the pad: what is stripped, filled and gravelled */
#include "entries.h"

void
take_pad(struct reader *in, void *at, const struct field *field)
{
    (void)at;
    complain(in, "no-kind", "%s is not read yet", field->key);
}
