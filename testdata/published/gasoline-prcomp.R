# PCA of the gasoline spectra by R's prcomp, with T² and Q, as JSON:
#
#   Rscript gasoline-prcomp.R > gasoline-prcomp.json
#
# The spectra come from the package itself, not from gasoline.csv, so that a fault of the table shows too.
suppressMessages(library(pls))
data(gasoline)
x <- unclass(gasoline$NIR)
fit <- prcomp(x, center = TRUE, scale. = FALSE)

# Signs by rule: the loading of largest magnitude is positive.
sign <- apply(fit$rotation, 2, function(v) if (v[which.max(abs(v))] < 0) -1 else 1)
loadings <- sweep(fit$rotation, 2, sign, "*")
scores <- sweep(fit$x, 2, sign, "*")
centred <- sweep(x, 2, fit$center)

numbers <- function(v) paste0("[", paste(sprintf("%.12g", v), collapse = ", "), "]")
model <- function(k) {
  t <- scores[, 1:k, drop = FALSE]
  residual <- centred - t %*% t(loadings[, 1:k, drop = FALSE])
  t2 <- rowSums(sweep(t^2, 2, fit$sdev[1:k]^2, "/"))
  sprintf('  {"k": %d,\n   "t2": %s,\n   "q": %s}', k, numbers(t2), numbers(rowSums(residual^2)))
}
cat(sprintf('{"by": "prcomp of R %s",\n', getRversion()))
cat('"mean": ', numbers(fit$center), ',\n', sep = "")
cat('"eigenvalues": ', numbers(fit$sdev[1:4]^2), ',\n', sep = "")
cat('"scores": [\n', paste0("  ", apply(scores[, 1:4], 1, numbers), collapse = ",\n"), "],\n", sep = "")
cat('"models": [\n', paste(sapply(1:4, model), collapse = ",\n"), "]}\n", sep = "")
