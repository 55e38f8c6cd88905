/* loop - the yardstick: a bare libyaml event loop over a file, and nothing else */
#include <stdio.h>
#include <yaml.h>

int
main(int argc, char **argv)
{
    yaml_parser_t parser;
    yaml_event_t event;
    unsigned long events = 0;
    FILE *f = argc > 1 ? fopen(argv[1], "rb") : stdin;
    if (!f || !yaml_parser_initialize(&parser))
        return 2;
    yaml_parser_set_encoding(&parser, YAML_UTF8_ENCODING);
    yaml_parser_set_input_file(&parser, f);
    for (int done = 0; !done; events++) {
        if (!yaml_parser_parse(&parser, &event))
            return 1;
        done = event.type == YAML_STREAM_END_EVENT;
        yaml_event_delete(&event);
    }
    yaml_parser_delete(&parser);
    fclose(f);
    printf("%lu events\n", events);
    return 0;
}
