"""Pure: what a lesson hour has to bring in, the bills of a year, and the weekly sum that meets them."""
