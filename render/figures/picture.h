/* A page as a PNG or PDF file, as it was begun, whole or not at all, with its physical size and what it shows. */
#ifndef RENDER_FIGURES_PICTURE_H
#define RENDER_FIGURES_PICTURE_H

#include "page.h"

int picture_write(const char *path, struct page *page, const char *title, const char *description,
                  struct figure_error *error);
#endif
