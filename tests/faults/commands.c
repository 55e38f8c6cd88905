/* commands.c - the commands that write, as data: a row more puts another one under every fault */
#include "faults.h"

/* Every reading is a number of its own, so that it can be told from all others. */
static const struct line session[] = {
    { "bs BM1 4.601", "{at: BM1, bs: 4.601", "\"bs\":4.601000000" },
    { "is batten P1 3.102", "{at: P1, on: batten, is: 3.102", "\"is\":3.102000000" },
    { "tp TP1 5.803 4.204", "{at: TP1, fs: 5.803, bs: 4.204", "\"fs\":5.803000000" },
    { "is ground P2 3.305", "{at: P2, on: ground, is: 3.305", "\"is\":3.305000000" },
    { "undo rod stood on a clod", "reason: rod stood on a clod", NULL },
    { "is ground P2 3.306", "{at: P2, on: ground, is: 3.306", "\"is\":3.306000000" },
    { "fs BM1 3.003", "{at: BM1, fs: 3.003", "\"fs\":3.003000000" },
    { "strike 4.1 read the wrong wire", "strike: {entry: 4, row: 1", NULL },
    { "is batten B1 3.027 for 4.1", "is: 3.027, for: {entry: 4, row: 1}", "\"is\":3.027000000" },
    { "bs BM1 4.708", "{at: BM1, bs: 4.708", "\"bs\":4.708000000" },
    { 0 },
};

static const struct line made[] = {
    { "the job", "job: Tool store", NULL },
    { "the benchmark", "elevation: 100.000", NULL },
    { "the grade", "level: 101.500", NULL },
    { 0 },
};

static const struct line struck[] = { { "the strike", "reason: nail head", NULL }, { 0 } };

static const struct line sealed[] = { { "the seal", "  signature: ", NULL }, { 0 } };

static const struct line chosen[] = { { "the grade", "note: \"level that balances", NULL }, { 0 } };

static const struct line table[] = {
    { "the table", "{at: BM1, bs: 4.821}", "\"bs\":4.821000000" },
    { 0 },
};

static const struct line two_runs[] = {
    { "the first run", "{at: BM1, bs: 4.821}", "\"bs\":4.821000000" },
    { "the second run", "{at: BM1, bs: 4.831}", "\"bs\":4.831000000" },
    { 0 },
};

const struct line lines_after[] = {
    { "bs BM1 5.009", "{at: BM1, bs: 5.009", "\"bs\":5.009000000" },
    { "is batten R1 3.339", "{at: R1, on: batten, is: 3.339", "\"is\":3.339000000" },
    { "fs BM1 5.008", "{at: BM1, fs: 5.008", "\"fs\":5.008000000" },
    { 0 },
};

#define RECORD_AT "@job.yaml" /* RECORD, in one piece */
#define NEW "new", "--job", "Tool store", "--unit", "ft", "--least", "0.001"
#define MADE { NEW, "--benchmark", "BM1 100.000", RECORD_AT }
#define BOOKED "bs BM1 4.511\nis batten B1 3.021\nfs BM1 4.510\n"

const struct command commands[] = {
    { .name = "book", .argv = { "book", "--by", "RO", RECORD_AT }, .before = { MADE }, .booked = BOOKED,
        .lines = session, .session = true },
    { .name = "new", .argv = { NEW, "--benchmark=BM1 100.000", "--grade=string finish 101.500", RECORD_AT },
        .lines = made, .acknowledges = " is made, with 3 entries", .together = 3 },
    { .name = "strike", .argv = { "strike", "--row", "4.1", "--reason", "nail head", "--by", "RO", RECORD_AT }, .before = { MADE },
        .booked = BOOKED, .lines = struck, .acknowledges = "the strike is entry ", .together = 1 },
    { .name = "grade", .argv = { "grade", "--take", "2", "--name", "string", "--by", "RO", RECORD_AT },
        .before = { MADE, { "import", "@places.yaml", RECORD_AT } }, .booked = BOOKED, .file = "places.yaml",
        .text = "---\npoints: {G1: {x: 0, y: 0}, G2: {x: 24, y: 1}, G3: {x: 11, y: 12}}\n---\nlevels:\n  readings:\n    - {at: BM1, bs: 4.611}\n"
                "    - {at: G1, on: ground, is: 4.222}\n    - {at: G2, on: ground, is: 4.333}\n    - {at: G3, on: ground, is: 4.444}\n"
                "    - {at: BM1, fs: 4.611}\n",
        .lines = chosen, .acknowledges = "the grade is entry ", .together = 1 },
    { .name = "seal", .argv = { "seal", "--key", "@key", "--by", "RO", RECORD_AT }, .before = { MADE, { "key", "--file", "@key" } },
        .booked = BOOKED, .lines = sealed, .acknowledges = "seals entries 1 to ", .together = 1 },
    { .name = "import", .argv = { "import", "--by", "RO", "@table.csv", RECORD_AT }, .before = { MADE }, .booked = BOOKED,
        .file = "table.csv", .text = "point,bs,is,fs\nBM1,4.821,,\nC1,,3.222,\nBM1,,,4.820\n",
        .lines = table, .acknowledges = " written, and on the disk", .together = 1 },
    /* two entries, one answer: what is cut between them leaves the first, and nobody was told of either */
    { .name = "import", .as = "import-two", .argv = { "import", "--by", "RO", "@table.csv", RECORD_AT }, .before = { MADE },
        .booked = BOOKED, .file = "table.csv",
        .text = "run,point,bs,is,fs\na,BM1,4.821,,\na,C1,,3.222,\na,BM1,,,4.820\nb,BM1,4.831,,\nb,C2,,3.232,\nb,BM1,,,4.830\n",
        .lines = two_runs, .acknowledges = " written, and on the disk", .together = 2 },
    { 0 },
};
