/* The readers of --vary, --want, --of and --at against any bytes: each ends, says why it refuses, never puts a
 * control character into its output; a range that is taken writes numbers that read back to themselves. */
#include "fuzz/check.h"
#include "render/commands/wishes.h"
#include "scenes/numbers.h"

#include <math.h>

static void check_messages(struct messages *messages, bool taken) {
    if (taken == (messages->errors > 0))
        abort();
    check_said(messages);
    messages_clear(messages);
}

/* The text without its first words, "past" turned: the number. */
static void check_number(const struct vary *vary, double number) {
    char text[WISH_SIZE];
    const char *rest;
    double back = 0;
    vary_text(vary, number, text);
    if (strcmp(text, "centre") == 0) {
        if (number != 0)
            abort();
        return;
    }
    size_t skipped = vary->before[0] ? strlen(vary->before) + 1 : 0;
    if (number_read(text + skipped, &back, &rest) != NUMBER_OK)
        abort();
    if (back != number && !(number < 0 && back == -number))
        abort();
}

static void check_vary(const char *text) {
    struct messages messages = {0};
    struct vary vary;
    bool taken = vary_read(text, &messages, &vary);
    check_messages(&messages, taken);
    if (!taken)
        return;
    if (vary.steps < 1 || vary.steps > VARY_STEPS_MAX || vary.path[0] == '\0')
        abort();
    for (size_t i = 1; i + 1 < vary.steps; i++)
        check_number(&vary, vary_number(&vary, i));
    if (vary_number(&vary, 0) != vary.from || (vary.steps > 1 && vary_number(&vary, vary.steps - 1) != vary.to))
        abort();
}

static void check_want(const char *text) {
    struct messages messages = {0};
    struct want want;
    bool taken = want_read(text, &messages, &want);
    check_messages(&messages, taken);
    if (taken && (want.statistic == NULL || !isfinite(want.limit) ||
                  (want.field[0] != '\0' && want.statistic->scope != OF_FIELD)))
        abort();
}

static void check_lists(const char *text) {
    struct messages messages = {0};
    struct of_wish of[OF_MAX];
    struct at_wish at[AT_MAX];
    size_t count = 0;
    bool taken = of_read(text, &messages, &count, of);
    check_messages(&messages, taken);
    for (size_t i = 0; taken && i < count; i++)
        if (of[i].statistic == NULL)
            abort();
    taken = at_read(text, &messages, &count, at);
    check_messages(&messages, taken);
    for (size_t i = 0; taken && i < count; i++)
        if (!(at[i].value > 0) || at[i].text[0] == '\0')
            abort();
}

int LLVMFuzzerTestOneInput(const unsigned char *data, size_t size) {
    char *text = malloc(size + 1);
    if (text == NULL)
        abort();
    if (size > 0)
        memcpy(text, data, size);
    text[size] = '\0';
    check_vary(text);
    check_want(text);
    check_lists(text);
    free(text);
    return 0;
}
