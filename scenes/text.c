#include "scenes/text.h"

/* Well-formed sequences as in table 3-7 of the Unicode standard: no overlong forms, no surrogates, at most U+10FFFF.
 */
size_t utf8_character(const char *bytes, size_t size, uint32_t *code) {
    static const uint32_t least[] = {0, 0, 0x80, 0x800, 0x10000};
    if (size == 0)
        return 0;
    const unsigned char *b = (const unsigned char *)bytes;
    size_t length = b[0] < 0x80 ? 1 : b[0] >= 0xC2 && b[0] < 0xE0 ? 2 : (b[0] & 0xF0) == 0xE0 ? 3 : 4;
    if (length > size || (length == 4 && (b[0] & 0xF8) != 0xF0) || (b[0] >= 0x80 && b[0] < 0xC2))
        return 0;
    uint32_t value = length == 1 ? b[0] : b[0] & (0x7Fu >> length);
    for (size_t i = 1; i < length; i++) {
        if ((b[i] & 0xC0) != 0x80)
            return 0;
        value = value << 6 | (b[i] & 0x3Fu);
    }
    if (value < least[length] || value > 0x10FFFF || (value >= 0xD800 && value <= 0xDFFF))
        return 0;
    *code = value;
    return length;
}

static bool within(uint32_t code, const uint32_t (*ranges)[2], size_t count) {
    for (size_t i = 0; i < count; i++)
        if (code >= ranges[i][0] && code <= ranges[i][1])
            return true;
    return false;
}

bool character_is_control(uint32_t code) {
    static const uint32_t ranges[][2] = {{0, 0x1F},        {0x7F, 0x9F},     {0x200E, 0x200F}, {0x2028, 0x202E},
                                         {0x2066, 0x2069}, {0xFEFF, 0xFEFF}, {0xFFFE, 0xFFFF}};
    return within(code, ranges, sizeof ranges / sizeof *ranges);
}

bool has_control(const char *text, size_t size) {
    for (size_t i = 0; i < size;) {
        uint32_t code = 0;
        size_t length = utf8_character(&text[i], size - i, &code);
        if (length == 0 || character_is_control(code))
            return true;
        i += length;
    }
    return false;
}

/* The large blocks of the Unicode data files EastAsianWidth and UnicodeData; enough to keep a caret in its place. */
int character_columns(uint32_t code) {
    static const uint32_t none[][2] = {{0x300, 0x36F}, {0x200B, 0x200D}, {0x20D0, 0x20FF}, {0xFE00, 0xFE0F}};
    static const uint32_t wide[][2] = {{0x1100, 0x115F},   {0x2E80, 0x303E},   {0x3041, 0xA4CF},  {0xAC00, 0xD7A3},
                                       {0xF900, 0xFAFF},   {0xFE30, 0xFE6F},   {0xFF00, 0xFF60},  {0xFFE0, 0xFFE6},
                                       {0x1F300, 0x1F64F}, {0x1F900, 0x1F9FF}, {0x20000, 0x3FFFD}};
    if (within(code, none, sizeof none / sizeof *none))
        return 0;
    return within(code, wide, sizeof wide / sizeof *wide) ? 2 : 1;
}
