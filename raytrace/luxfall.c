#include "luxfall.h"

const char *luxfall_version(void) {
    return LUXFALL_VERSION;
}

void luxfall_options_init(struct luxfall_options *options) {
    *options = (struct luxfall_options){
        .size = sizeof *options, .method = LUXFALL_RAYS, .seed = 1, .accuracy = 0.005, .points = LUXFALL_SCRAMBLED};
}

const char *luxfall_loss_name(enum luxfall_loss loss) {
    static const char *const names[LUXFALL_LOSS_COUNT] = {
        [LUXFALL_LOSS_DATASHEET] = "lens_sheet",
        [LUXFALL_LOSS_HOLDER] = "holder",
        [LUXFALL_LOSS_SOURCE] = "back_upon_source",
        [LUXFALL_LOSS_RETURNED] = "returned",
        [LUXFALL_LOSS_RIM] = "rim",
        [LUXFALL_LOSS_MATERIAL] = "material",
        [LUXFALL_LOSS_COVER] = "cover",
        [LUXFALL_LOSS_STOP] = "stop",
        [LUXFALL_LOSS_MIRROR] = "mirror",
    };
    return (unsigned)loss < LUXFALL_LOSS_COUNT ? names[loss] : "unknown";
}
