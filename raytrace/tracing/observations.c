#include "tracing/observations.h"

#include <stdlib.h>

static bool make_map(const struct stage *stage, int replicates, struct fine_map *map) {
    const struct luxfall_target *target = &stage->scene->target;
    int split = fine_map_split(target->columns, target->rows);
    *map = (struct fine_map){.columns = target->columns * split,
                             .rows = target->rows * split,
                             .split = split,
                             .cell_mm = target->cell_mm / split,
                             .replicates = replicates};
    if (replicates == 1)
        return true;
    map->quanta = calloc((size_t)replicates, sizeof *map->quanta);
    bool good = map->quanta != NULL;
    for (int r = 0; r < replicates && good; r++)
        good = (map->quanta[r] = calloc(fine_map_cells(map) + 1, sizeof **map->quanta)) != NULL;
    return good;
}

static bool make_readings(struct observations *out) {
    size_t fields = out->plane_count * out->field_count, replicates = (size_t)out->replicates;
    out->readings_lx = calloc(fields + 1, sizeof *out->readings_lx);
    out->average_lx = calloc(fields + 1, sizeof *out->average_lx);
    if (!out->readings_lx || !out->average_lx)
        return false;
    for (size_t i = 0; i < fields; i++) {
        size_t places = (size_t)out->stage->grids[i % out->field_count].count;
        out->readings_lx[i] = calloc(places * replicates, sizeof **out->readings_lx);
        out->average_lx[i] = calloc(replicates, sizeof **out->average_lx);
        if (!out->readings_lx[i] || !out->average_lx[i])
            return false;
    }
    return true;
}

static bool make_ledgers(struct observations *out) {
    size_t replicates = (size_t)out->replicates;
    out->leaving_lm = calloc(replicates, sizeof *out->leaving_lm);
    out->ledgers = calloc(replicates, sizeof *out->ledgers);
    out->off_map_lm = calloc(out->plane_count, sizeof *out->off_map_lm);
    bool good = out->leaving_lm && out->ledgers && out->off_map_lm;
    for (size_t r = 0; r < replicates && good; r++) {
        struct quanta_ledger *ledger = &out->ledgers[r];
        ledger->off_map = calloc(out->plane_count, sizeof *ledger->off_map);
        ledger->cover = calloc(out->stage->scene->cover_count + 1, sizeof *ledger->cover);
        good = ledger->off_map && ledger->cover;
    }
    return good;
}

bool observations_make(const struct stage *stage, int replicates, struct observations *out) {
    *out = (struct observations){.stage = stage,
                                 .replicates = replicates,
                                 .plane_count = stage->scene->target.level_count,
                                 .field_count = stage->scene->field_count};
    out->maps = calloc(out->plane_count, sizeof *out->maps);
    bool good = out->maps != NULL;
    for (size_t p = 0; p < out->plane_count && good; p++)
        good = make_map(stage, replicates, &out->maps[p]);
    return good && make_readings(out) && make_ledgers(out);
}

void observations_free(struct observations *seen) {
    for (size_t p = 0; p < seen->plane_count && seen->maps; p++) {
        for (int r = 0; r < seen->replicates && seen->maps[p].quanta; r++)
            free(seen->maps[p].quanta[r]);
        free(seen->maps[p].quanta);
    }
    for (size_t i = 0; i < seen->plane_count * seen->field_count; i++) {
        if (seen->readings_lx)
            free(seen->readings_lx[i]);
        if (seen->average_lx)
            free(seen->average_lx[i]);
    }
    for (int r = 0; r < seen->replicates && seen->ledgers; r++) {
        free(seen->ledgers[r].off_map);
        free(seen->ledgers[r].cover);
    }
    free(seen->maps);
    free(seen->readings_lx);
    free(seen->average_lx);
    free(seen->leaving_lm);
    free(seen->ledgers);
    free(seen->off_map_lm);
}
