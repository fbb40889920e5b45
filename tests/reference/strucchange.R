# Run: Rscript tests/reference/strucchange.R > tests/reference/golden/strucchange.json
# Debian packages r-base-core and r-cran-strucchange (1.5-3).
suppressMessages(library(strucchange))
data(RealInt)
array <- function(x) paste0("[", paste(format(x, digits = 12, trim = TRUE), collapse = ","), "]")
report <- function(name, x, h) {
  x <- as.numeric(x)
  bp <- breakpoints(x ~ 1, h = h, breaks = 5)
  rss <- summary(bp)$RSS
  breaks <- sapply(1:5, function(k) array(breakpoints(bp, breaks = k)$breakpoints))
  cat(sprintf('  "%s": {\n    "least": %d,\n    "values": %s,\n    "rss": %s,\n    "bic": %s,\n    "breaks": [[],%s]\n  }',
    name, h, array(x), array(rss["RSS", ]), array(rss["BIC", ]), paste(breaks, collapse = ",")))
}
cat("{\n")
report("Nile", Nile, 15)
cat(",\n")
report("RealInt", RealInt, 15)
cat("\n}\n")
