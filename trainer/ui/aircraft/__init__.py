"""The aircraft page: options, limits, and flown examples of them."""
