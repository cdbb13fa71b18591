/* Bytes of text: UTF-8 and how wide it stands on a screen. */
#ifndef SCENES_TEXT_H
#define SCENES_TEXT_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* Length of the valid UTF-8 character at the start of size bytes and its code point; 0 when there is none. */
size_t utf8_character(const char *bytes, size_t size, uint32_t *code);

/* Must not reach a terminal as it is: control characters, line separators, marks that turn the direction of text. */
bool character_is_control(uint32_t code);

/* There is one among the bytes, or what is no UTF-8. */
bool has_control(const char *text, size_t size);

/* Columns on a screen: 0 for combining marks, 2 for wide East Asian characters, else 1. */
int character_columns(uint32_t code);

#endif
