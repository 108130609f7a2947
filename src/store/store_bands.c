/* The percentile bands in the HDF5 file: counts, curves, flights still flying, and the axes they stand on. */
#include <hdf5_hl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "bands.h"
#include "hdf.h"
#include "store_state.h"

/* Times of a chunk of counts. */
enum { CHUNK_TIMES = 16 };

/* Axes of the bands, made once. */
struct axes {
    hid_t time, percent;
};

static int put_label(hid_t dataset, const char *unit, const char *long_name)
{
    return rc_hdf_put_text(dataset, "units", unit) < 0 ? -1 : rc_hdf_put_text(dataset, "long_name", long_name);
}

static int make_axes(struct axes *axes, hid_t file, const struct rc_store_plan *plan)
{
    double *time = malloc((size_t)plan->n_times * sizeof *time);
    double percent[RC_N_PERCENTILES];
    int result = -1;
    if (!time)
        goto done;
    for (int index = 0; index < plan->n_times; index++)
        time[index] = index * plan->time_step;
    for (int index = 0; index < RC_N_PERCENTILES; index++)
        percent[index] = rc_bands_percent(index);
    axes->time = rc_hdf_put_array(file, "bands/time", H5T_IEEE_F64LE, (hsize_t[2]){(hsize_t)plan->n_times, 0}, time);
    axes->percent = rc_hdf_put_array(file, "bands/percent", H5T_IEEE_F64LE, (hsize_t[2]){RC_N_PERCENTILES, 0}, percent);
    if (axes->time >= 0 && axes->percent >= 0 && put_label(axes->time, "s", "time after lift-off") >= 0 &&
        put_label(axes->percent, "%", "share of the flights below the curve") >= 0 &&
        H5DSset_scale(axes->time, "time") >= 0 && H5DSset_scale(axes->percent, "percent") >= 0)
        result = 0;
done:
    free(time);
    return result;
}

static int put_edges(hid_t file, const struct rc_store_plan *plan)
{
    const hsize_t dims[2] = {(hsize_t)plan->n_bins + 1, 0};
    const hid_t edges = rc_hdf_put_array(file, "bands/bin_edge", H5T_IEEE_F64LE, dims, plan->bin_edge);
    if (edges < 0)
        return -1;
    const int result = put_label(edges, "", "edges of the bins: bin b reaches from edge b to edge b + 1, in the signal's unit");
    return H5Dclose(edges) < 0 ? -1 : result;
}

/* The chunks in which anything is counted: most bins are empty, and what is not written reads as zeros.
 * in/out room  one chunk */
static int put_chunks(hid_t dataset, const struct rc_store_plan *plan, const uint64_t *counts, uint64_t *room)
{
    const size_t n_bins = (size_t)plan->n_bins;
    int result = 0;
    for (int time = 0; time < plan->n_times && result == 0; time += CHUNK_TIMES) {
        const int n_times = plan->n_times - time < CHUNK_TIMES ? plan->n_times - time : CHUNK_TIMES;
        const uint64_t *of_chunk = counts + (size_t)time * n_bins;
        uint64_t any = 0;
        for (size_t cell = 0; cell < (size_t)n_times * n_bins; cell++)
            any |= of_chunk[cell];
        memcpy(room, of_chunk, (size_t)n_times * n_bins * sizeof *room);
        memset(room + (size_t)n_times * n_bins, 0, (size_t)(CHUNK_TIMES - n_times) * n_bins * sizeof *room);
        if (any != 0)
            result = rc_hdf_put_chunk(dataset, (hsize_t[2]){(hsize_t)time, 0}, CHUNK_TIMES * n_bins, room);
    }
    return result;
}

static int put_counts(hid_t file, const struct rc_store_plan *plan, int signal, const uint64_t *counts)
{
    char path[RC_STORE_MAX_NAME];
    (void)snprintf(path, sizeof path, "bands/%s/counts", plan->signal[signal].name);
    const hsize_t dims[2] = {(hsize_t)plan->n_times, (hsize_t)plan->n_bins};
    const hsize_t chunk[2] = {CHUNK_TIMES, dims[1]};
    uint64_t *room = malloc(CHUNK_TIMES * (size_t)plan->n_bins * sizeof *room);
    const hid_t dataset = room ? rc_hdf_array(file, path, H5T_STD_U64LE, 2, dims, chunk) : -1;
    int result = dataset < 0 ? -1 : put_label(dataset, "1", "flights whose signal lies in a bin at a time (time x bin)");
    if (result == 0 && counts)
        result = put_chunks(dataset, plan, counts, room);
    if (dataset >= 0 && H5Dclose(dataset) < 0)
        result = -1;
    free(room);
    return result;
}

/* curve (percentile x time) and flights alive (time) of one signal */
static int put_curves(hid_t file, const struct axes *axes, const struct rc_store_plan *plan, int signal, const uint64_t *counts)
{
    const struct rc_store_signal *row = &plan->signal[signal];
    const struct rc_bands_grid grid = {plan->n_times, plan->n_bins, plan->bin_edge};
    double *curve = malloc(RC_N_PERCENTILES * (size_t)plan->n_times * sizeof *curve);
    int64_t *alive = malloc((size_t)plan->n_times * sizeof *alive);
    char path[RC_STORE_MAX_NAME];
    hid_t curves = -1;
    hid_t flights = -1;
    int result = -1;
    if (!curve || !alive)
        goto done;
    rc_bands_percentiles(&grid, counts, curve, alive);
    (void)snprintf(path, sizeof path, "bands/%s/percentiles", row->name);
    curves = rc_hdf_put_array(file, path, H5T_IEEE_F64LE, (hsize_t[2]){RC_N_PERCENTILES, (hsize_t)plan->n_times}, curve);
    (void)snprintf(path, sizeof path, "bands/%s/n", row->name);
    flights = rc_hdf_put_array(file, path, H5T_STD_I64LE, (hsize_t[2]){(hsize_t)plan->n_times, 0}, alive);
    if (curves >= 0 && flights >= 0 && put_label(curves, row->unit, row->long_name) >= 0 &&
        put_label(flights, "1", "flights that still flew") >= 0 && H5DSattach_scale(curves, axes->percent, 0) >= 0 &&
        H5DSattach_scale(curves, axes->time, 1) >= 0 && H5DSattach_scale(flights, axes->time, 0) >= 0)
        result = 0;
done:
    if (flights >= 0 && H5Dclose(flights) < 0)
        result = -1;
    if (curves >= 0 && H5Dclose(curves) < 0)
        result = -1;
    free(alive);
    free(curve);
    return result;
}

int rc_store_bands_write(hid_t file, const struct rc_store_plan *plan, const uint64_t *counts)
{
    const size_t n_counts = (size_t)plan->n_times * (size_t)plan->n_bins;
    struct axes axes = {-1, -1};
    int result = 0;
    if (plan->n_times == 0)
        return 0;
    result = make_axes(&axes, file, plan);
    if (result == 0)
        result = put_edges(file, plan);
    for (int signal = 0; signal < plan->n_signals && result == 0; signal++) {
        const uint64_t *of_signal = counts ? counts + (size_t)signal * n_counts : NULL;
        result = put_counts(file, plan, signal, of_signal);
        if (result == 0)
            result = put_curves(file, &axes, plan, signal, of_signal);
    }
    if (axes.time >= 0 && H5Dclose(axes.time) < 0)
        result = -1;
    if (axes.percent >= 0 && H5Dclose(axes.percent) < 0)
        result = -1;
    return result;
}
