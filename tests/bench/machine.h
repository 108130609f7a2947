/* What the machine could do, and what a run takes of it besides time. */
#ifndef RC_MACHINE_H
#define RC_MACHINE_H

/* Double-precision operations per second of this core, multiplies and adds in equal number on 32-byte vectors in registers.
 * in fused  1: fused multiply-adds, which the flight code must not use; 0: as it may compute
 * ends [1/s], the best of a few tries, 0 where the processor lacks them */
double machine_peak(int fused);

/* Arithmetic instructions per lane in the vector code of one right-hand side: what stands in the functions of that build.
 * in library  path of the build; ends 0 where it cannot be read */
double machine_operations(const char *library);

/* A run of n flights into a store in a process of its own.
 * out bytes  the store's per flight; ends greatest memory of the process [MB] */
double machine_memory(const char *campaign, long long n, double *bytes);

/* The bare problem's flight as a NumPy batch. out apogee, error  mean over its flights and standard error [m]; ends flights per second,
 * 0 where there is no NumPy */
double machine_numpy(const char *campaign, int n, double *apogee, double *error);

#endif
