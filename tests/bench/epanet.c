/* Times the solve call of EPANET's C library on one network, again and again, each time from its own first guess.
 *
 *     gcc -O2 -o epanet epanet.c -ldl
 *     ./epanet LIBRARY NETWORK.inp SOLVES
 *
 * Prints the seconds of one solve: the least of fifteen batches, as on the other side. Only EN_initH (which puts the
 * first guess back) and EN_runH stand inside the clock; nothing is saved to disk and nothing is reported. */
#include <dlfcn.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

enum { NOSAVE_FIRST_GUESS = 10, EMITBACKFLOW = 24, BATCHES = 15 };

static double now(void) {
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static void *symbol(void *library, const char *name) {
    void *found = dlsym(library, name);
    if (!found) {
        fprintf(stderr, "%s: %s\n", name, dlerror());
        exit(2);
    }
    return found;
}

static void must(int code, const char *call) {
    /* Codes up to 100 are warnings. */
    if (code > 100) {
        fprintf(stderr, "%s: error %d\n", call, code);
        exit(2);
    }
}

int main(int argc, char **argv) {
    if (argc != 4) {
        fprintf(stderr, "epanet LIBRARY NETWORK.inp SOLVES\n");
        return 2;
    }
    void *library = dlopen(argv[1], RTLD_NOW);
    if (!library) {
        fprintf(stderr, "%s\n", dlerror());
        return 2;
    }
    int (*create)(void **) = symbol(library, "EN_createproject");
    int (*open)(void *, const char *, const char *, const char *) = symbol(library, "EN_open");
    int (*set)(void *, int, double) = symbol(library, "EN_setoption");
    int (*open_h)(void *) = symbol(library, "EN_openH");
    int (*init_h)(void *, int) = symbol(library, "EN_initH");
    int (*run_h)(void *, long *) = symbol(library, "EN_runH");
    int (*statistic)(void *, int, double *) = symbol(library, "EN_getstatistic");
    void *project = NULL;
    long solves = atol(argv[3]), time = 0;
    must(create(&project), "EN_createproject");
    must(open(project, argv[2], "/dev/null", ""), "EN_open");
    must(set(project, EMITBACKFLOW, 0.0), "EN_setoption");
    must(open_h(project), "EN_openH");
    double least = 1e9;
    for (int batch = 0; batch < BATCHES; batch++) {
        double start = now();
        for (long i = 0; i < solves; i++) {
            must(init_h(project, NOSAVE_FIRST_GUESS), "EN_initH");
            must(run_h(project, &time), "EN_runH");
        }
        double each = (now() - start) / (double)solves;
        if (each < least) least = each;
    }
    double rounds = 0.0;
    statistic(project, 0, &rounds);
    printf("%.9e %.0f\n", least, rounds);
    return 0;
}
