/* Parsing from the option table and the help page from the same rows. What an option means is left to its command. */
#include "options.h"

#include <errno.h>
#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "nearest.h"
#include "say.h"

/* The words of a command line as they are read. */
struct reading {
    const struct rc_command *command;
    int argc;
    char **argv;
    int at;          /* word in work */
    int n_operands;
};

static void print_help(const struct rc_command *command)
{
    printf("Usage: rollcast %s %s%s[OPTION]...\n%s\n\nOptions:\n", command->name,
           command->operand != NULL ? command->operand : "",
           command->operand == NULL ? "" : command->most_operands > 1 ? "... " : " ", command->summary);
    for (int row = 0; row <= command->n_options; row++) {
        static const struct rc_option help = {.name = "help", .letter = 'h', .help = "print this help"};
        const struct rc_option *option = row < command->n_options ? &command->option[row] : &help;
        char left[64];
        char letter[8] = "    ";
        if (option->letter != 0) {
            snprintf(letter, sizeof letter, "-%c, ", option->letter);
        }
        snprintf(left, sizeof left, "%s--%s%s%s", letter, option->name, option->value != NULL ? " " : "",
                 option->value != NULL ? option->value : "");
        printf("  %-26s %s\n", left, option->help);
    }
}

static enum rc_options_end wrong_value(const struct rc_option *option, const char *got, const char *wanted)
{
    rc_say_line("--%s: got '%s', wanted %s", option->name, got, wanted);
    return RC_OPTIONS_WRONG;
}

/* Digits only, so no sign, blank, point, suffix or other base slips through. */
static int is_whole_number(const char *text, uint64_t *number)
{
    if (text[0] == '\0' || text[strspn(text, "0123456789")] != '\0') {
        return 0;
    }
    errno = 0;
    const unsigned long long value = strtoull(text, NULL, 10);
    if (errno != 0) {
        return 0;
    }
    *number = value;
    return 1;
}

static enum rc_options_end take_number(const struct rc_option *option, const char *value)
{
    uint64_t number = 0;
    char wanted[96];
    const int is_number = is_whole_number(value, &number);

    if (option->kind == RC_OPTION_UNSIGNED) {
        if (!is_number) {
            snprintf(wanted, sizeof wanted, "a whole number from 0 to %" PRIu64, UINT64_MAX);
            return wrong_value(option, value, wanted);
        }
        *(uint64_t *)option->target = number;
        return RC_OPTIONS_READ;
    }
    if (!is_number || number > (uint64_t)option->greatest || number < (uint64_t)option->least) {
        snprintf(wanted, sizeof wanted, "a whole number from %" PRId64 " to %" PRId64, option->least, option->greatest);
        return wrong_value(option, value, wanted);
    }
    *(int64_t *)option->target = (int64_t)number;
    return RC_OPTIONS_READ;
}

static enum rc_options_end take_decimal(const struct rc_option *option, const char *value)
{
    char *end = NULL;
    const double number = strtod(value, &end);
    const int is_plain = value[0] != '\0' && value[strspn(value, "0123456789.eE+-")] == '\0' && *end == '\0';
    if (option->kind == RC_OPTION_SHARE && !(is_plain && number > 0.0 && number < 1.0)) {
        return wrong_value(option, value, "a share above 0 and below 1, such as 0.02");
    }
    if (!is_plain || !isfinite(number) || signbit(number)) {
        return wrong_value(option, value, "seconds, zero or more, such as 0.05");
    }
    *(double *)option->target = number;
    return RC_OPTIONS_READ;
}

/* One of several texts. */
static enum rc_options_end take_text(const struct rc_option *option, const char *value)
{
    const char **text = option->target;
    for (int64_t place = 0; place < option->greatest; place++) {
        if (text[place] == NULL) {
            text[place] = value;
            return RC_OPTIONS_READ;
        }
    }
    rc_say_line("--%s may be given %" PRId64 " times", option->name, option->greatest);
    return RC_OPTIONS_WRONG;
}

static enum rc_options_end take(const struct rc_option *option, const char *value)
{
    if (option->is_given != NULL) {
        *option->is_given = 1;
    }
    switch (option->kind) {
    case RC_OPTION_FLAG:
        *(int *)option->target = 1;
        return RC_OPTIONS_READ;
    case RC_OPTION_TEXT:
        if (value[0] == '\0') {
            return wrong_value(option, value, "a name");
        }
        *(const char **)option->target = value;
        return RC_OPTIONS_READ;
    case RC_OPTION_TEXTS:
        return take_text(option, value);
    case RC_OPTION_SECONDS:
    case RC_OPTION_SHARE:
        return take_decimal(option, value);
    case RC_OPTION_COUNT:
    case RC_OPTION_UNSIGNED:
        break;
    }
    return take_number(option, value);
}

/* The value of an option: what is joined to it, or the next word. NULL if there is none. */
static const char *value_of(struct reading *reading, const char *joined)
{
    if (joined != NULL) {
        return joined;
    }
    return reading->at + 1 < reading->argc ? reading->argv[++reading->at] : NULL;
}

static enum rc_options_end unknown_option(const struct rc_command *command, const char *word, size_t n_word)
{
    const char *names[32];
    int n_names = 0;
    for (int row = 0; row < command->n_options && n_names < 31; row++) {
        names[n_names++] = command->option[row].name;
    }
    names[n_names++] = "help";

    char name[64];
    snprintf(name, sizeof name, "%.*s", (int)(n_word < 60 ? n_word : 60), word);
    const char *nearest = rc_nearest_name(name, names, n_names);
    if (nearest != NULL) {
        rc_say_line("unknown option '--%s'; the nearest is --%s (see: rollcast %s --help)", name, nearest, command->name);
    } else {
        rc_say_line("unknown option '--%s' (see: rollcast %s --help)", name, command->name);
    }
    return RC_OPTIONS_WRONG;
}

static enum rc_options_end read_long(struct reading *reading)
{
    const struct rc_command *command = reading->command;
    const char *word = reading->argv[reading->at] + 2;
    const size_t n_name = strcspn(word, "=");
    const char *joined = word[n_name] == '=' ? word + n_name + 1 : NULL;

    if (n_name == 4 && strncmp(word, "help", 4) == 0 && joined == NULL) {
        print_help(command);
        return RC_OPTIONS_HELPED;
    }
    for (int row = 0; row < command->n_options; row++) {
        const struct rc_option *option = &command->option[row];
        if (strlen(option->name) != n_name || strncmp(word, option->name, n_name) != 0) {
            continue;
        }
        if (option->kind == RC_OPTION_FLAG) {
            return joined == NULL ? take(option, NULL) : wrong_value(option, joined, "no value: it is a switch");
        }
        const char *value = value_of(reading, joined);
        if (value == NULL) {
            rc_say_line("--%s wants a value: --%s %s", option->name, option->name, option->value);
            return RC_OPTIONS_WRONG;
        }
        return take(option, value);
    }
    return unknown_option(command, word, n_name);
}

/* "-o VALUE" or "-oVALUE"; several letters in one word are not a manner of ours, there are too few of them. */
static enum rc_options_end read_short(struct reading *reading)
{
    const struct rc_command *command = reading->command;
    const char *word = reading->argv[reading->at];

    if (strcmp(word, "-h") == 0) {
        print_help(command);
        return RC_OPTIONS_HELPED;
    }
    for (int row = 0; row < command->n_options; row++) {
        const struct rc_option *option = &command->option[row];
        if (option->letter == 0 || option->letter != word[1]) {
            continue;
        }
        if (option->kind == RC_OPTION_FLAG) {
            return word[2] == '\0' ? take(option, NULL) : wrong_value(option, word + 2, "no value: it is a switch");
        }
        const char *value = value_of(reading, word[2] != '\0' ? word + 2 : NULL);
        if (value == NULL) {
            rc_say_line("-%c wants a value: -%c %s", option->letter, option->letter, option->value);
            return RC_OPTIONS_WRONG;
        }
        return take(option, value);
    }
    rc_say_line("unknown option '%s' (see: rollcast %s --help)", word, command->name);
    return RC_OPTIONS_WRONG;
}

/* Are there as many operands as the command wants, none of them empty? */
static enum rc_options_end judge_operands(const struct rc_command *command, const char *const *operand, int n_operands,
                                          const char *last)
{
    const int n_most = command->most_operands;
    if (n_most == 0) {
        if (n_operands == 0) {
            return RC_OPTIONS_READ;
        }
        rc_say_line("%s takes options only, got '%s' (see: rollcast %s --help)", command->name, last, command->name);
        return RC_OPTIONS_WRONG;
    }
    if (n_operands > n_most) {
        if (n_most > 1) {
            rc_say_line("%s wants at most %d of %s, got %d: '%s' is too many (see: rollcast %s --help)", command->name, n_most,
                        command->operand, n_operands, last, command->name);
        } else {
            rc_say_line("%s wants one %s, got %d: '%s' is too many (see: rollcast %s --help)", command->name, command->operand,
                        n_operands, last, command->name);
        }
        return RC_OPTIONS_WRONG;
    }
    int is_named = n_operands > 0;
    for (int at = 0; at < n_operands; at++) {
        is_named = is_named && operand[at][0] != '\0';
    }
    if (!is_named) {
        rc_say_line("%s wants a %s (see: rollcast %s --help)", command->name, command->operand, command->name);
        return RC_OPTIONS_WRONG;
    }
    return RC_OPTIONS_READ;
}

enum rc_options_end rc_options_read(const struct rc_command *command, int argc, char **argv, const char **operand)
{
    struct reading reading = {.command = command, .argc = argc, .argv = argv, .at = 1};
    const char *last = "";
    int takes_options = 1;

    for (; reading.at < argc; reading.at++) {
        const char *word = argv[reading.at];
        enum rc_options_end end = RC_OPTIONS_READ;
        if (takes_options && strcmp(word, "--") == 0) {
            takes_options = 0;
        } else if (takes_options && strncmp(word, "--", 2) == 0) {
            end = read_long(&reading);
        } else if (takes_options && word[0] == '-' && word[1] != '\0') {
            end = read_short(&reading);
        } else {
            last = word;
            if (reading.n_operands < command->most_operands) {
                operand[reading.n_operands] = word;
            }
            reading.n_operands++;
        }
        if (end != RC_OPTIONS_READ) {
            return end;
        }
    }
    return judge_operands(command, operand, reading.n_operands, last);
}
