"""Labels, photos and what is read from them."""
