/* What a picture's caption says: title, what was traced, how sure it is. */
#ifndef RENDER_FIGURES_CAPTION_H
#define RENDER_FIGURES_CAPTION_H

#include "page.h"

/* Lines of plain text about one plane, '\n' between them; the caller frees. NULL out of memory. */
char *caption_of_plane(const struct scene *scene, const struct luxfall_result *result, size_t plane,
                       const char *last_line);
/* The same for several results side by side: one line each. */
char *caption_of_several(size_t count, const struct scene *const *scenes, const struct luxfall_result *const *results,
                         const char *const *names, size_t plane, const char *last_line);

/* ", lens 0.3 mm low" for each way in which a module is not as drawn. */
void caption_put_built(FILE *out, const struct luxfall_assembly *built);

/* px that title and body need below a figure, and the drawing of them from y on. */
double caption_height(struct page *page, const char *title, const char *body);
void caption_draw(struct page *page, const char *title, const char *body, double y);

#endif
