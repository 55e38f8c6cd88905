# The tables in chance_table.h: Rscript tests/base/chance.R > tests/base/chance_table.h
# R is not needed to build or to test.
options(digits = 17)
df <- c(1, 2, 3, 5, 10, 30, 100, 1000, 10000, 100000, 1e6, 1e8)
p <- c(1e-9, 1e-6, 1e-4, 0.001, 0.005, 0.025, 0.05, 0.1, 0.25, 0.4, 0.5)
row <- function(...) cat("    {", paste(sprintf("%.17g", c(...)), collapse = ", "), "},\n")
cat("/* Written by tests/base/chance.R under", R.version.string, "*/\n\n")
cat("/* p, qnorm(p, lower.tail = FALSE) */\nstatic const double normal_at[][2] = {\n")
for (q in p) row(q, qnorm(q, lower.tail = FALSE))
cat("};\n\n/* z, pnorm(z), pnorm(z, lower.tail = FALSE) */\nstatic const double normal_shares[][3] = {\n")
for (z in c(-20.3, -9.7, -6.1, -3.29, -1.17, -0.013, 0.42, 2.576, 5.3, 8.9)) row(z, pnorm(z), pnorm(z, lower.tail = FALSE))
cat("};\n\n/* df, p, qchisq(p, df), qchisq(p, df, lower.tail = FALSE), qt(p, df, lower.tail = FALSE) */\n")
cat("static const double values_at[][5] = {\n")
for (n in df) for (q in p) row(n, q, qchisq(q, n), qchisq(q, n, lower.tail = FALSE), qt(q, n, lower.tail = FALSE))
cat("};\n\n/* df, x, pchisq(x, df), pchisq(x, df, lower.tail = FALSE), t, pt(t, df, lower.tail = FALSE) */\n")
cat("static const double shares_of[][6] = {\n")
for (n in df) for (q in c(1e-30, 1e-9, 0.003, 0.16, 0.45)) {
    t <- signif(qt(q, n, lower.tail = FALSE), 5)
    for (x in signif(c(qchisq(q, n), qchisq(q, n, lower.tail = FALSE)), 7))
        row(n, x, pchisq(x, n), pchisq(x, n, lower.tail = FALSE), t, pt(t, n, lower.tail = FALSE))
}
cat("};\n")
