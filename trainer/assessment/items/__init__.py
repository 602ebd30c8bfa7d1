"""The items of the bank: situations that can be flown, and what is asked in them."""
