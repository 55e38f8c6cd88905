/* tape.c - measured sides and diagonals */
#include "entries.h"

void
take_tape(struct reader *in, void *at, const struct field *field)
{
    (void)at;
    complain(in, "no-kind", "%s is not read yet", field->key);
}
