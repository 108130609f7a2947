/* Searches tightenings for the cheapest way to odds. What costs what, and what is said of the way, is left to the caller. */
#include "cheapest.h"

#include <math.h>
#include <stdlib.h>

/* A way: another one, or none, and one item more. */
struct node {
    int parent;        /* -1 none */
    int place;         /* of its last item, by rising cost */
    double cost;
};

struct search {
    const struct rc_cheapest_item *item;
    int *order;                 /* (n_items) by rising cost             */
    int n_items;
    struct node *node;          /* (2 RC_CHEAPEST_MOST + 2)             */
    int *heap;                  /* the same: nodes, the cheapest on top */
    int n_nodes, n_heap;
    double *weight;             /* (flights) */
};

static bool is_cheaper(const struct search *search, int a, int b)
{
    return search->node[search->heap[a]].cost < search->node[search->heap[b]].cost;
}

static void swap(struct search *search, int a, int b)
{
    const int kept = search->heap[a];
    search->heap[a] = search->heap[b];
    search->heap[b] = kept;
}

static void push(struct search *search, int parent, int place)
{
    if (place >= search->n_items)
        return;
    const double before = parent >= 0 ? search->node[parent].cost : 0.0;
    search->node[search->n_nodes] = (struct node){parent, place, before + search->item[search->order[place]].cost};
    int at = search->n_heap++;
    search->heap[at] = search->n_nodes++;
    for (; at > 0 && is_cheaper(search, at, (at - 1) / 2); at = (at - 1) / 2)
        swap(search, at, (at - 1) / 2);
}

static int pop(struct search *search)
{
    const int top = search->heap[0];
    search->heap[0] = search->heap[--search->n_heap];
    for (int at = 0, child = 1; child < search->n_heap; at = child, child = 2 * at + 1) {
        if (child + 1 < search->n_heap && is_cheaper(search, child + 1, child))
            child++;
        if (!is_cheaper(search, child, at))
            break;
        swap(search, at, child);
    }
    return top;
}

/* The way of a node. ends whether it takes no row twice and is not too long */
static bool read_way(struct rc_cheapest_way *way, const struct search *search, int node)
{
    bool is_good = true;
    *way = (struct rc_cheapest_way){.cost = node >= 0 ? search->node[node].cost : 0.0};
    for (; node >= 0; node = search->node[node].parent) {
        const int item = search->order[search->node[node].place];
        if (way->n == RC_CHEAPEST_LONGEST)
            return false;
        for (int other = 0; other < way->n; other++)
            is_good = is_good && search->item[way->item[other]].row != search->item[item].row;
        way->item[way->n++] = item;
    }
    return is_good;
}

static struct rc_tightened judge(const struct rc_cheapest_way *way, const struct rc_cheapest_item *item,
                                 const struct rc_cheapest_flights *flights, double confidence, double *weight)
{
    struct rc_tighten_sums sums = {.n_groups = flights->n_groups};
    for (int flight = 0; flight < flights->n; flight++)
        weight[flight] = 1.0;
    for (int at = 0; at < way->n; at++) {
        const float *factor = item[way->item[at]].weight;
        for (int flight = 0; flight < flights->n; flight++)
            weight[flight] *= (double)factor[flight];
    }
    rc_tighten_add(&sums, 0, flights->n, flights->met, weight);
    return rc_tighten_odds(&sums, confidence);
}

rc_status rc_cheapest_judge(struct rc_tightened *after, const struct rc_cheapest_way *way, const struct rc_cheapest_item *item,
                            const struct rc_cheapest_flights *flights, double confidence, struct rc_error *err)
{
    double *weight = malloc(((size_t)flights->n + 1) * sizeof *weight);
    if (!weight)
        return rc_error_fill(err, RC_NO_MEMORY, NULL, "no memory to judge a way by %d flights", flights->n);
    *after = judge(way, item, flights, confidence, weight);
    free(weight);
    return RC_OK;
}

/* Note a way that was looked at. */
static void note(struct rc_cheapest *found, const struct rc_cheapest_way *way, double need)
{
    if (!way->after.is_supported) {
        if (found->n_unjudged < RC_CHEAPEST_KEPT)
            found->unjudged[found->n_unjudged] = *way;
        found->n_unjudged++;
        return;
    }
    found->n_judged++;
    if (found->best.n < 0 || way->after.odds > found->best.after.odds)
        found->best = *way;
    if (found->likely.n < 0 && way->after.odds >= need)
        found->likely = *way;
    if (way->after.low >= need)
        found->shown = *way;
}

static void run(struct rc_cheapest *found, struct search *search, const struct rc_cheapest_flights *flights, double need,
                double confidence)
{
    const double two_sided = 2.0 * confidence - 1.0; /* whose lower end is the one-sided bound */
    struct rc_cheapest_way way;
    int node = -1; /* nothing is tightened */
    for (int looked = 0; looked < RC_CHEAPEST_MOST; looked++) {
        const bool is_way = read_way(&way, search, node);
        if (is_way) {
            way.after = judge(&way, search->item, flights, two_sided, search->weight);
            note(found, &way, need);
        }
        if (found->shown.n >= 0)
            return;
        /* a way that takes a row twice has no successors with more, nor has one that leaves too few flights */
        if (is_way && way.after.effective >= RC_TIGHTEN_LEAST)
            push(search, node, node >= 0 ? search->node[node].place + 1 : 0);
        if (node >= 0)
            push(search, search->node[node].parent, search->node[node].place + 1);
        if (search->n_heap == 0)
            return;
        node = pop(search);
    }
    found->is_complete = 0;
}

/* Items by rising cost; few enough to be put in order one by one. */
static void sort(struct search *search)
{
    for (int index = 0; index < search->n_items; index++) {
        int at = index;
        for (; at > 0 && search->item[search->order[at - 1]].cost > search->item[index].cost; at--)
            search->order[at] = search->order[at - 1];
        search->order[at] = index;
    }
}

rc_status rc_cheapest_search(struct rc_cheapest *found, const struct rc_cheapest_item *item, int n_items,
                             const struct rc_cheapest_flights *flights, double need, double confidence, struct rc_error *err)
{
    const size_t n_nodes = 2 * RC_CHEAPEST_MOST + 2;
    struct search search = {.item = item, .n_items = n_items};
    rc_status status = RC_OK;
    *found = (struct rc_cheapest){.shown = {.n = -1}, .likely = {.n = -1}, .best = {.n = -1}, .is_complete = 1};
    search.order = malloc(((size_t)n_items + 1) * sizeof *search.order);
    search.node = malloc(n_nodes * sizeof *search.node);
    search.heap = malloc(n_nodes * sizeof *search.heap);
    search.weight = malloc(((size_t)flights->n + 1) * sizeof *search.weight);
    if (search.order && search.node && search.heap && search.weight) {
        sort(&search);
        run(found, &search, flights, need, confidence);
    } else {
        status = rc_error_fill(err, RC_NO_MEMORY, NULL, "no memory to look for the cheapest way");
    }
    free(search.order);
    free(search.node);
    free(search.heap);
    free(search.weight);
    return status;
}
