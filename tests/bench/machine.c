/* Peak arithmetic, memory, and the NumPy batch. */
#include "machine.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

enum { CHAINS = 12, ROUNDS = 4000000 };

#if defined(__x86_64__) && defined(__GNUC__)
/* Twelve chains of registers, long enough apart that none waits for itself; zeros, which are as fast as any. */
#define CHAIN_PAIR(first, second, a, b) first " %%ymm12, %%ymm" #a ", %%ymm" #a "\n" second " %%ymm12, %%ymm" #b ", %%ymm" #b "\n"
#define ALL_CHAINS(first, second)                                                                                          \
    "1:\n" CHAIN_PAIR(first, second, 0, 1) CHAIN_PAIR(first, second, 2, 3) CHAIN_PAIR(first, second, 4, 5)                 \
    CHAIN_PAIR(first, second, 6, 7) CHAIN_PAIR(first, second, 8, 9) CHAIN_PAIR(first, second, 10, 11) "dec %0\n jnz 1b\n"
#define REGISTERS "xmm0", "xmm1", "xmm2", "xmm3", "xmm4", "xmm5", "xmm6", "xmm7", "xmm8", "xmm9", "xmm10", "xmm11", "xmm12"

static void peak_apart(void)
{
    long n = ROUNDS;
    __asm__ volatile("vzeroall\n" ALL_CHAINS("vmulpd", "vaddpd") : "+r"(n) : : REGISTERS, "cc");
}

static void peak_fused(void)
{
    long n = ROUNDS;
    __asm__ volatile("vzeroall\n" ALL_CHAINS("vfmadd213pd", "vfmadd213pd") : "+r"(n) : : REGISTERS, "cc");
}

static double processor_time(void)
{
    struct timespec time;
    (void)clock_gettime(CLOCK_THREAD_CPUTIME_ID, &time);
    return (double)time.tv_sec + 1e-9 * (double)time.tv_nsec;
}

double machine_peak(int fused)
{
    double best = 0.0;
    if (!__builtin_cpu_supports("avx2") || !__builtin_cpu_supports("fma"))
        return 0.0;
    for (int i = 0; i < 9; i++) {
        const double begun = processor_time();
        if (fused)
            peak_fused();
        else
            peak_apart();
        best = fmax(best, (fused ? 2.0 : 1.0) * 4.0 * CHAINS * ROUNDS / (processor_time() - begun));
    }
    return best;
}
#else
double machine_peak(int fused)
{
    (void)fused;
    return 0.0;
}
#endif

double machine_operations(const char *library)
{
    char command[1400], line[256];
    double n = 0.0;
    (void)snprintf(command, sizeof command, "objdump -d --no-show-raw-insn '%s' 2>/dev/null", library);
    FILE *const listing = popen(command, "r");
    int inside = 0;
    while (listing != NULL && fgets(line, sizeof line, listing) != NULL) {
        if (strchr(line, '<') != NULL && strstr(line, ">:\n") != NULL)
            inside = strstr(line, "<move.arch_x86_64_v3>") != NULL || strstr(line, "<see_air.arch_x86_64_v3>") != NULL;
        else if (inside && strstr(line, "ymm") != NULL)
            n += strstr(line, "vaddpd") || strstr(line, "vsubpd") || strstr(line, "vmulpd") || strstr(line, "vdivpd") ||
                 strstr(line, "vsqrtpd");
    }
    if (listing != NULL)
        (void)pclose(listing);
    return n;
}

/* Greatest memory so far of a process [MB]; 0 once it has ended. */
static double high_water(pid_t process)
{
    char path[64], line[256];
    double kilobytes = 0.0;
    (void)snprintf(path, sizeof path, "/proc/%d/status", (int)process);
    FILE *const status = fopen(path, "r");
    while (status != NULL && fgets(line, sizeof line, status) != NULL)
        if (strncmp(line, "VmHWM:", 6) == 0)
            kilobytes = strtod(line + 6, NULL);
    if (status != NULL)
        (void)fclose(status);
    return kilobytes / 1024.0;
}

double machine_memory(const char *campaign, long long n, double *bytes)
{
    static const char path[] = "bench_memory.h5";
    const struct timespec pause = {.tv_nsec = 2000000};
    char flights[32];
    struct stat file = {0};
    int status = 1;
    double most = 0.0;
    (void)remove(path);
    (void)snprintf(flights, sizeof flights, "%lld", n);
    const pid_t child = fork();
    if (child == 0) {
        (void)execl(BENCH_ROLLCAST, "rollcast", "fly", campaign, "-o", path, "--flights", flights, "--threads", "1", "--quiet", NULL);
        _exit(1);
    }
    (void)nanosleep(&(const struct timespec){.tv_nsec = 200000000}, NULL); /* past fork and exec */
    while (child > 0 && waitpid(child, &status, WNOHANG) == 0) {
        most = fmax(most, high_water(child));
        (void)nanosleep(&pause, NULL);
    }
    if (child < 0 || status != 0 || stat(path, &file) != 0) {
        (void)fprintf(stderr, "bench: the run for its memory failed\n");
        return NAN;
    }
    (void)remove(path);
    *bytes = (double)file.st_size / (double)n;
    return most;
}

double machine_numpy(const char *campaign, int n, double *apogee, double *error)
{
    char command[1400];
    double rate = 0.0;
    (void)snprintf(command, sizeof command,
                   "OMP_NUM_THREADS=1 OPENBLAS_NUM_THREADS=1 /usr/bin/python3 '%s/tests/bench/batch_numpy.py' '%s' '%s' %d 2>/dev/null",
                   RC_SOURCE_DIR, BENCH_ROLLCAST, campaign, n);
    FILE *const answer = popen(command, "r");
    if (answer == NULL)
        return 0.0;
    if (fscanf(answer, "%lf %lf %lf", &rate, apogee, error) != 3)
        rate = 0.0;
    (void)pclose(answer);
    return rate;
}
