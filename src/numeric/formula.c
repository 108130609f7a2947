/* Reads a formula by recursive descent into steps for a stack of values, and works the steps out. What the inputs are is left to
 * the caller. Numbers are read with strtod under the caller's locale, which the campaign's loader sets to "C". */
#include "formula.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/base.h"

enum operation {
    OP_NUMBER, OP_INPUT, OP_NEGATE, OP_ADD, OP_SUBTRACT, OP_MULTIPLY, OP_DIVIDE, OP_POWER,
    OP_ABS, OP_SQRT, OP_EXP, OP_LOG, OP_SIN, OP_COS, OP_TAN, OP_ASIN, OP_ACOS, OP_ATAN, OP_FLOOR, OP_MIN, OP_MAX
};

struct step {
    enum operation operation;
    int input;     /* of OP_INPUT  */
    double number; /* of OP_NUMBER */
};

struct rc_formula {
    int n_steps;
    struct step step[]; /* (n_steps) */
};

/* Words of the language. A constant takes no arguments. */
struct word {
    const char *name;
    int n_arguments;
    enum operation operation;
};

static const struct word words[] = {
    {"pi", 0, OP_NUMBER}, {"abs", 1, OP_ABS}, {"sqrt", 1, OP_SQRT}, {"exp", 1, OP_EXP}, {"log", 1, OP_LOG}, {"sin", 1, OP_SIN},
    {"cos", 1, OP_COS}, {"tan", 1, OP_TAN}, {"asin", 1, OP_ASIN}, {"acos", 1, OP_ACOS}, {"atan", 1, OP_ATAN},
    {"floor", 1, OP_FLOOR}, {"min", 2, OP_MIN}, {"max", 2, OP_MAX},
};

/* A text on its way to steps. Once `is_wrong` is set nothing is read or added any more. */
struct reading {
    const char *text, *at;
    const char *const *names;
    int n_names, depth, n_held;
    struct rc_formula *made; /* room for a step a character */
    bool is_wrong;
    struct rc_error *err;
};

static void refuse(struct reading *reading, const char *what)
{
    if (!reading->is_wrong)
        (void)rc_error_fill(reading->err, RC_BAD_INPUT, NULL, "at character %d, %s%.20s%s: %s",
                            (int)(reading->at - reading->text) + 1, *reading->at != '\0' ? "`" : "the end", reading->at,
                            *reading->at != '\0' ? "`" : "", what);
    reading->is_wrong = true;
}

static void add_step(struct reading *reading, struct step step, int n_taken)
{
    if (reading->is_wrong)
        return;
    reading->n_held += 1 - n_taken;
    if (reading->n_held > RC_FORMULA_MAX_HELD) {
        refuse(reading, "too many values held at once; use fewer terms inside each other");
        return;
    }
    reading->made->step[reading->made->n_steps++] = step;
}

static void skip_blanks(struct reading *reading)
{
    reading->at += strspn(reading->at, " \t");
}

/* ends whether the character stood there, which is then passed */
static bool take(struct reading *reading, char wanted)
{
    skip_blanks(reading);
    if (reading->is_wrong || *reading->at != wanted)
        return false;
    reading->at++;
    return true;
}

static bool is_letter(char c)
{
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || c == '_';
}

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

/* Characters of the name that stands here, 0 = none. */
static size_t name_length(const char *text)
{
    size_t n = 0;
    while (is_letter(text[n]) || (n > 0 && is_digit(text[n])))
        n++;
    return n;
}

static bool is_same(const char *name, const char *at, size_t n)
{
    return strlen(name) == n && strncmp(name, at, n) == 0;
}

bool rc_formula_is_name(const char *text)
{
    const size_t n = name_length(text);
    bool is_free = n > 0 && text[n] == '\0';
    for (size_t index = 0; index < sizeof words / sizeof words[0] && is_free; index++)
        is_free = strcmp(words[index].name, text) != 0;
    return is_free;
}

static void read_sum(struct reading *reading);

/* One level deeper, so that no text can exhaust the program's stack. ends false where it is too deep */
static bool go_deeper(struct reading *reading)
{
    if (++reading->depth > RC_FORMULA_MAX_DEPTH)
        refuse(reading, "too many parentheses, signs or powers inside each other");
    return !reading->is_wrong;
}

static void read_number(struct reading *reading)
{
    const char *end = reading->at;
    while (is_digit(*end) || *end == '.')
        end++;
    if (*end == 'e' || *end == 'E') {
        const char *exponent = end + 1 + (end[1] == '+' || end[1] == '-');
        if (is_digit(*exponent))
            end = exponent + strspn(exponent, "0123456789");
    }
    char *stopped = NULL;
    const double number = strtod(reading->at, &stopped);
    if (stopped != end || is_letter(*end) || !isfinite(number)) {
        refuse(reading, "wanted a plain finite number, such as 0.5 or 1e-3");
        return;
    }
    reading->at = end;
    add_step(reading, (struct step){OP_NUMBER, 0, number}, 0);
}

static void read_arguments(struct reading *reading, const struct word *word)
{
    if (!take(reading, '('))
        refuse(reading, "wanted ( after the name of a function");
    for (int argument = 0; argument < word->n_arguments && !reading->is_wrong; argument++) {
        if (argument > 0 && !take(reading, ','))
            refuse(reading, "wanted , and one more argument");
        read_sum(reading);
    }
    if (!take(reading, ')'))
        refuse(reading, "wanted ) after the arguments");
    add_step(reading, (struct step){word->operation, 0, 0.0}, word->n_arguments);
}

static void read_name(struct reading *reading)
{
    const size_t n = name_length(reading->at);
    for (int input = 0; input < reading->n_names; input++) {
        if (is_same(reading->names[input], reading->at, n)) {
            reading->at += n;
            add_step(reading, (struct step){OP_INPUT, input, 0.0}, 0);
            return;
        }
    }
    for (size_t index = 0; index < sizeof words / sizeof words[0]; index++) {
        if (!is_same(words[index].name, reading->at, n))
            continue;
        reading->at += n;
        if (words[index].n_arguments > 0)
            read_arguments(reading, &words[index]);
        else
            add_step(reading, (struct step){OP_NUMBER, 0, 3.14159265358979323846}, 0);
        return;
    }
    refuse(reading, "neither an input's name nor a function's");
}

static void read_operand(struct reading *reading)
{
    skip_blanks(reading);
    if (reading->is_wrong)
        return;
    if (take(reading, '(')) {
        read_sum(reading);
        if (!take(reading, ')'))
            refuse(reading, "wanted )");
    } else if (is_letter(*reading->at)) {
        read_name(reading);
    } else if (is_digit(*reading->at) || *reading->at == '.') {
        read_number(reading);
    } else {
        refuse(reading, "wanted a number, an input, a function or (");
    }
}

/* A sign or none, an operand, its power: -x^2 is -(x^2), x^-2 and x^y^z are what they look like. */
static void read_signed(struct reading *reading)
{
    if (!go_deeper(reading))
        return;
    if (take(reading, '-')) {
        read_signed(reading);
        add_step(reading, (struct step){OP_NEGATE, 0, 0.0}, 1);
    } else {
        read_operand(reading);
        if (take(reading, '^')) {
            read_signed(reading);
            add_step(reading, (struct step){OP_POWER, 0, 0.0}, 2);
        }
    }
    reading->depth--;
}

static void read_product(struct reading *reading)
{
    read_signed(reading);
    while (!reading->is_wrong) {
        const bool is_product = take(reading, '*');
        if (!is_product && !take(reading, '/'))
            return;
        read_signed(reading);
        add_step(reading, (struct step){is_product ? OP_MULTIPLY : OP_DIVIDE, 0, 0.0}, 2);
    }
}

static void read_sum(struct reading *reading)
{
    read_product(reading);
    while (!reading->is_wrong) {
        const bool is_sum = take(reading, '+');
        if (!is_sum && !take(reading, '-'))
            return;
        read_product(reading);
        add_step(reading, (struct step){is_sum ? OP_ADD : OP_SUBTRACT, 0, 0.0}, 2);
    }
}

rc_status rc_formula_create(struct rc_formula **formula, const char *text, const char *const *names, int n_names,
                            struct rc_error *err)
{
    const size_t n = strlen(text);
    if (n >= RC_FORMULA_MAX_TEXT)
        return rc_error_fill(err, RC_BAD_INPUT, NULL, "a formula of %zu characters, wanted at most %d", n,
                             RC_FORMULA_MAX_TEXT - 1);
    struct rc_formula *made = malloc(sizeof *made + n * sizeof made->step[0]);
    if (!made)
        return rc_error_fill(err, RC_NO_MEMORY, NULL, "no memory for a formula");
    made->n_steps = 0;
    struct reading reading = {.text = text, .at = text, .names = names, .n_names = n_names, .made = made, .err = err};
    read_sum(&reading);
    skip_blanks(&reading);
    if (!reading.is_wrong && *reading.at != '\0')
        refuse(&reading, "wanted an operator (+ - * / ^) or the end");
    if (reading.is_wrong) {
        free(made);
        return RC_BAD_INPUT;
    }
    *formula = made;
    return RC_OK;
}

void rc_formula_free(struct rc_formula *formula)
{
    free(formula);
}

static double of_one(enum operation operation, double x)
{
    switch (operation) {
    case OP_NEGATE:
        return -x;
    case OP_ABS:
        return fabs(x);
    case OP_SQRT:
        return sqrt(x);
    case OP_EXP:
        return exp(x);
    case OP_LOG:
        return log(x);
    case OP_SIN:
        return sin(x);
    case OP_COS:
        return cos(x);
    case OP_TAN:
        return tan(x);
    case OP_ASIN:
        return asin(x);
    case OP_ACOS:
        return acos(x);
    case OP_ATAN:
        return atan(x);
    default:
        return floor(x);
    }
}

static double of_two(enum operation operation, double x, double y)
{
    switch (operation) {
    case OP_ADD:
        return x + y;
    case OP_SUBTRACT:
        return x - y;
    case OP_MULTIPLY:
        return x * y;
    case OP_DIVIDE:
        return x / y;
    case OP_POWER:
        return pow(x, y);
    case OP_MIN:
        return x < y || isnan(x) ? x : y; /* a side without a value leaves none */
    default:
        return x > y || isnan(x) ? x : y;
    }
}

static bool takes_two(enum operation operation)
{
    return (operation >= OP_ADD && operation <= OP_POWER) || operation == OP_MIN || operation == OP_MAX;
}

double rc_formula_value(const struct rc_formula *formula, const double *inputs)
{
    double held[RC_FORMULA_MAX_HELD + 1] = {0.0};
    int n = 0;
    for (int index = 0; index < formula->n_steps; index++) {
        const struct step *step = &formula->step[index];
        if (step->operation == OP_NUMBER) {
            held[n++] = step->number;
        } else if (step->operation == OP_INPUT) {
            held[n++] = inputs[step->input];
        } else if (takes_two(step->operation)) {
            n--;
            held[n - 1] = of_two(step->operation, held[n - 1], held[n]);
        } else {
            held[n - 1] = of_one(step->operation, held[n - 1]);
        }
    }
    return held[0];
}
