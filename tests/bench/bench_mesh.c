/* The yardstick of `follow: collimator`: the same lens as a mesh of triangles, its rays found by Embree, a general
 * ray intersection library (bench only, where it is installed). The same physics: Snell, Fresnel's mean of s and p, a
 * random number at every surface; so a little less work than ours, which carries the polarisation.
 *
 * The mesh has the exact normals at its corners and interpolates them, which needs far fewer triangles than flat
 * ones.
 *
 * How fine the mesh is: its map on a plane 100 mm over the face must be as good as that of the exact surfaces. Both
 * maps of so many rays as a check follows are compared cell by cell; chi^2 over the cells, 1 where the two differ by
 * their noise alone, may be above it by three standard errors at most. */
#include "bench/bench.h"

#if __has_include(<embree4/rtcore.h>)
#include <embree4/rtcore.h>
#else
#include <embree3/rtcore.h>
#endif

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { RINGS_MAX = 4096, FLAT_SIDES = 64 };
static const double PI = 3.14159265358979323846;

/* ---- the mesh ---- */

static struct {
    const struct optic *optic;
    RTCDevice device;
    RTCScene scene;
    unsigned patch_of[OPTIC_PATCHES_MAX];
    struct vec3 {
        float x, y, z;
    } * normals[OPTIC_PATCHES_MAX];       /* of the corners, towards the patch's up side */
    unsigned *corners[OPTIC_PATCHES_MAX]; /* three of each triangle */
    size_t triangles;
} mesh;

struct outline {
    int count;
    double r[RINGS_MAX], z[RINGS_MAX];
};

static struct vec3 normal_of(const float *at, const struct patch *patch) {
    const double place[3] = {at[0], at[1], at[2]};
    double up[3];
    patch_normal(patch, place, up);
    return (struct vec3){(float)up[0], (float)up[1], (float)up[2]};
}

/* The outline of a patch turned round the axis in `around` steps. */
static void add_patch(int index, const struct outline *outline, int around) {
    RTCGeometry geometry = rtcNewGeometry(mesh.device, RTC_GEOMETRY_TYPE_TRIANGLE);
    size_t rings = (size_t)outline->count, side = (size_t)around, count = 2 * (rings - 1) * side;
    float *points = rtcSetNewGeometryBuffer(geometry, RTC_BUFFER_TYPE_VERTEX, 0, RTC_FORMAT_FLOAT3, 3 * sizeof(float),
                                            rings * side);
    unsigned *corners =
        rtcSetNewGeometryBuffer(geometry, RTC_BUFFER_TYPE_INDEX, 0, RTC_FORMAT_UINT3, 3 * sizeof(unsigned), count);
    struct vec3 *normals = malloc(rings * side * sizeof *normals);
    unsigned *own = malloc(3 * count * sizeof *own);
    if (!points || !corners || !normals || !own)
        exit(1);
    for (size_t k = 0; k < rings; k++)
        for (size_t j = 0; j < side; j++) {
            float *p = points + 3 * (k * side + j);
            p[0] = (float)(outline->r[k] * cos(2 * PI * (double)j / (double)side));
            p[1] = (float)(outline->r[k] * sin(2 * PI * (double)j / (double)side));
            p[2] = (float)outline->z[k];
            normals[k * side + j] = normal_of(p, &mesh.optic->patches[index]);
        }
    for (size_t t = 0; t < count; t++) {
        size_t k = t / 2 / side, j = t / 2 % side, next = (j + 1) % side;
        unsigned here = (unsigned)(k * side + j), beside = (unsigned)(k * side + next), over = (unsigned)side;
        const unsigned three[2][3] = {{here, beside, here + over}, {beside, beside + over, here + over}};
        memcpy(corners + 3 * t, three[t % 2], sizeof three[0]);
    }
    memcpy(own, corners, 3 * count * sizeof *own);
    rtcCommitGeometry(geometry);
    unsigned id = rtcAttachGeometry(mesh.scene, geometry);
    rtcReleaseGeometry(geometry);
    mesh.patch_of[id] = (unsigned)index;
    mesh.normals[id] = normals;
    mesh.corners[id] = own;
    mesh.triangles += count;
}

static void line_outline(struct outline *out, double r1, double z1, double r2, double z2) {
    out->count = 2;
    out->r[0] = fmax(r1, 1e-6);
    out->z[0] = z1;
    out->r[1] = r2;
    out->z[1] = z2;
}

static void middle_outline(struct outline *out, const struct collimator *c, int steps) {
    double n = c->index;
    out->count = steps + 1;
    for (int k = 0; k <= steps; k++) {
        out->r[k] = fmax(c->hollow_mm * k / steps, 1e-6);
        out->z[k] = c->focus_mm + conic_sag(1 / ((n - 1) * c->focus_mm), -n * n, 0, NULL, out->r[k]);
    }
}

static void wall_outline(struct outline *out, const struct collimator *c, int steps) {
    out->count = steps + 1;
    for (int k = 0; k <= steps; k++)
        collimator_wall(c, c->split_rad * k / steps, &out->r[k], &out->z[k]);
}

void mesh_prepare(const struct collimator *c, const struct optic *optic, int fineness) {
    static struct outline outline;
    mesh.optic = optic;
    mesh.device = mesh.device ? mesh.device : rtcNewDevice("threads=1");
    if (mesh.scene)
        rtcReleaseScene(mesh.scene);
    mesh.scene = rtcNewScene(mesh.device);
    mesh.triangles = 0;
    for (int i = 0; i < OPTIC_PATCHES_MAX; i++) {
        free(mesh.normals[i]);
        free(mesh.corners[i]);
        mesh.normals[i] = NULL;
        mesh.corners[i] = NULL;
    }
    const int around = 4 * fineness;
    line_outline(&outline, c->hollow_mm, 0, c->hollow_mm, c->rim_mm);
    add_patch(COLLIMATOR_HOLLOW, &outline, around);
    middle_outline(&outline, c, fineness);
    add_patch(COLLIMATOR_MIDDLE, &outline, around);
    wall_outline(&outline, c, 2 * fineness);
    add_patch(COLLIMATOR_WALL, &outline, around);
    /* flat ones need few, and stand over a little, lest their corners leave gaps */
    line_outline(&outline, c->hollow_mm * cos(PI / FLAT_SIDES), 0, c->foot_mm / cos(PI / FLAT_SIDES), 0);
    add_patch(COLLIMATOR_FOOT, &outline, FLAT_SIDES);
    line_outline(&outline, 0, c->face_mm, c->radius_mm / cos(PI / FLAT_SIDES), c->face_mm);
    add_patch(COLLIMATOR_FACE, &outline, FLAT_SIDES);
    line_outline(&outline, c->radius_mm, c->top_mm, c->radius_mm, c->face_mm);
    add_patch(COLLIMATOR_RIM, &outline, around);
    rtcSetSceneBuildQuality(mesh.scene, RTC_BUILD_QUALITY_HIGH);
    rtcCommitScene(mesh.scene);
}

size_t mesh_triangles(void) {
    return mesh.triangles;
}

/* ---- rays through it ---- */

struct way {
    float x, y, z, dx, dy, dz;
};

static struct way ways[RAY_BATCH];
static int segments_of[RAY_BATCH];

/* What the library tells of a ray. */
struct found {
    float t, u, v;
    unsigned geometry, triangle;
};

static struct vec3 normal_at(const struct found *hit) {
    const unsigned *corner = mesh.corners[hit->geometry] + 3 * (size_t)hit->triangle;
    const struct vec3 *normals = mesh.normals[hit->geometry];
    struct vec3 a = normals[corner[0]], b = normals[corner[1]], c = normals[corner[2]];
    float w = 1 - hit->u - hit->v;
    struct vec3 n = {w * a.x + hit->u * b.x + hit->v * c.x, w * a.y + hit->u * b.y + hit->v * c.y,
                     w * a.z + hit->u * b.z + hit->v * c.z};
    float scale = 1 / sqrtf(n.x * n.x + n.y * n.y + n.z * n.z);
    return (struct vec3){scale * n.x, scale * n.y, scale * n.z};
}

/* Back or on by a random number; false: its way ends there. */
static bool meet(struct way *way, const struct found *hit, struct pcg32 *random) {
    const struct patch *patch = &mesh.optic->patches[mesh.patch_of[hit->geometry]];
    struct vec3 n = normal_at(hit);
    float along = way->dx * n.x + way->dy * n.y + way->dz * n.z, side = along > 0 ? -1.0f : 1.0f;
    if (patch->deed == PATCH_STOP)
        return false;
    int before = along > 0 ? patch->down : patch->up, beyond = along > 0 ? patch->up : patch->down;
    float m = (float)(mesh.optic->materials[before].index / mesh.optic->materials[beyond].index);
    float c1 = fminf(fabsf(along), 1), out2 = 1 - m * m * (1 - c1 * c1), c2 = sqrtf(fmaxf(out2, 0));
    float rs = (m * c1 - c2) / (m * c1 + c2), rp = (c1 - m * c2) / (c1 + m * c2);
    float back = out2 > 0 ? 0.5f * (rs * rs + rp * rp) : 1;
    bool reflect = unit_float(pcg32_next(random)) < back;
    float keep = reflect ? 1 : m, aside = side * (reflect ? 2 * c1 : m * c1 - c2);
    way->x += hit->t * way->dx;
    way->y += hit->t * way->dy;
    way->z += hit->t * way->dz;
    way->dx = keep * way->dx + aside * n.x;
    way->dy = keep * way->dy + aside * n.y;
    way->dz = keep * way->dz + aside * n.z;
    return true;
}

#if RTC_VERSION_MAJOR >= 4
#define CONTEXT
#define INTERSECT1(hit) rtcIntersect1(mesh.scene, hit, NULL)
#define INTERSECT8(valid, hit) rtcIntersect8(valid, mesh.scene, hit, NULL)
#define INTERSECT16(valid, hit) rtcIntersect16(valid, mesh.scene, hit, NULL)
#else
#define CONTEXT                         \
    struct RTCIntersectContext context; \
    rtcInitIntersectContext(&context)
#define INTERSECT1(hit) rtcIntersect1(mesh.scene, &context, hit)
#define INTERSECT8(valid, hit) rtcIntersect8(valid, mesh.scene, &context, hit)
#define INTERSECT16(valid, hit) rtcIntersect16(valid, mesh.scene, &context, hit)
#endif
static const float NEAR_MM = 2e-5f;

static void look_single(int i, int count, struct found *found) {
    CONTEXT;
    const struct way *way = &ways[i];
    struct RTCRayHit hit = {
        .ray = {way->x, way->y, way->z, NEAR_MM, way->dx, way->dy, way->dz, 0, INFINITY, -1u, 0, 0},
        .hit = {.geomID = RTC_INVALID_GEOMETRY_ID}};
    (void)count;
    INTERSECT1(&hit);
    *found = (struct found){hit.ray.tfar, hit.hit.u, hit.hit.v, hit.hit.geomID, hit.hit.primID};
}

#define LOOK_PACKET(width)                                                                                         \
    static void look_packet##width(int from, int count, struct found *found) {                                     \
        CONTEXT;                                                                                                   \
        _Alignas(64) int valid[width];                                                                             \
        _Alignas(64) struct RTCRayHit##width hit;                                                                  \
        for (int l = 0; l < width; l++) {                                                                          \
            const struct way *way = &ways[from + (l < count ? l : 0)];                                             \
            valid[l] = l < count ? -1 : 0;                                                                         \
            hit.ray.org_x[l] = way->x;                                                                             \
            hit.ray.org_y[l] = way->y;                                                                             \
            hit.ray.org_z[l] = way->z;                                                                             \
            hit.ray.dir_x[l] = way->dx;                                                                            \
            hit.ray.dir_y[l] = way->dy;                                                                            \
            hit.ray.dir_z[l] = way->dz;                                                                            \
            hit.ray.tnear[l] = NEAR_MM;                                                                            \
            hit.ray.tfar[l] = INFINITY;                                                                            \
            hit.ray.time[l] = 0;                                                                                   \
            hit.ray.mask[l] = -1u;                                                                                 \
            hit.ray.flags[l] = 0;                                                                                  \
            hit.hit.geomID[l] = RTC_INVALID_GEOMETRY_ID;                                                           \
        }                                                                                                          \
        INTERSECT##width(valid, &hit);                                                                             \
        for (int l = 0; l < count; l++)                                                                            \
            found[l] =                                                                                             \
                (struct found){hit.ray.tfar[l], hit.hit.u[l], hit.hit.v[l], hit.hit.geomID[l], hit.hit.primID[l]}; \
    }
LOOK_PACKET(8)
LOOK_PACKET(16)

static void leave(const struct way *way, double end_mm, struct ray_batch *out) {
    int k = out->count++;
    out->x[k] = way->x;
    out->y[k] = way->y;
    out->z[k] = way->z - (float)end_mm;
    out->dx[k] = way->dx;
    out->dy[k] = way->dy;
    out->dz[k] = way->dz;
}

/* All rays of a batch to their ends; width 1, 8 or 16 at once. */
void mesh_follow(int width, const struct ray_batch *in, struct pcg32 *random, struct ray_batch *out) {
    int count = in->count;
    out->count = 0;
    for (int i = 0; i < count; i++) {
        ways[i] = (struct way){in->x[i], in->y[i], in->z[i], in->dx[i], in->dy[i], in->dz[i]};
        segments_of[i] = 0;
    }
    while (count > 0) {
        static struct found found[RAY_BATCH];
        for (int i = 0; i < count; i += width)
            (width == 1   ? look_single
             : width == 8 ? look_packet8
                          : look_packet16)(i, count - i < width ? count - i : width, &found[i]);
        int stay = 0;
        for (int i = 0; i < count; i++) {
            struct way way = ways[i];
            if (found[i].geometry == RTC_INVALID_GEOMETRY_ID) {
                if (way.dz > 0)
                    leave(&way, mesh.optic->end_mm, out);
            } else if (meet(&way, &found[i], random) && segments_of[i] < OPTIC_BOUNCES_MAX) {
                segments_of[stay] = segments_of[i] + 1;
                ways[stay++] = way;
            }
        }
        count = stay;
    }
}
