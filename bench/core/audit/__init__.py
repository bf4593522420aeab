"""How well a laboratory repeats itself: samples out of its entries, and the figures of samples."""
