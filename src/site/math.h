/* math.h - square roots and angles, where there may be no C library to declare them */
#ifndef SITE_MATH_H
#define SITE_MATH_H

double sqrt(double x);
double hypot(double x, double y);
double atan2(double y, double x);
double sin(double x);
double cos(double x);
double fabs(double x);

#endif
