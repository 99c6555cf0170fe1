# Writes the published spectra of two R packages as tables that any program can read:
#
#   Rscript export.R [FOLDER]
#
# The tables go to FOLDER, or to the current one. README.md beside this script names the sources.
suppressMessages({
  library(pls)
  library(modeldata)
})

folder <- commandArgs(trailingOnly = TRUE)
folder <- if (length(folder) == 0) "." else folder[1]

# One spectrum a row; the columns of names come first, then one column a channel, headed by its position in nm.
# Twelve significant digits are more than the packages hold.
write_table <- function(file, nm, x, names) {
  x <- unclass(as.matrix(x))
  stopifnot(ncol(x) == length(nm), all(is.finite(x)))
  text <- matrix(sprintf("%.12g", x), nrow(x))
  out <- file(file.path(folder, file), open = "wb")
  writeLines(c(
    "# axis: nm",
    "# quantity: absorbance",
    paste(c(colnames(names), sprintf("%.12g", nm)), collapse = ","),
    apply(cbind(names, text), 1, paste, collapse = ",")
  ), out)
  close(out)
}

# 54 samples, each measured three times in a row. The package keeps no column of the sample, so the order gives it; the
# three of a sample must share its oil and its settings.
data(mayonnaise)
batch <- rep(1:54, each = 3)
settings <- cbind(mayonnaise$oil.type, mayonnaise$design, mayonnaise$train)
for (b in 1:54) stopifnot(nrow(unique(settings[batch == b, ])) == 1)
write_table("mayonnaise.csv", seq(1100, 2500, by = 4), mayonnaise$NIR, cbind(
  id = 1:162, run = sprintf("batch-%02d", batch), label = sprintf("oil-%d", mayonnaise$oil.type)
))

data(gasoline)
nm <- as.numeric(sub(" nm", "", colnames(gasoline$NIR)))
write_table("gasoline.csv", nm, gasoline$NIR, cbind(id = 1:60))

# 100 channels from 850 to 1050 nm; the package does not say where each lies, so they are taken as evenly spaced.
data(meats)
write_table("meats.csv", round(seq(850, 1050, length.out = 100), 3), meats[, 1:100], cbind(id = seq_len(nrow(meats))))
