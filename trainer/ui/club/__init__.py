"""The club's book: roster, board, exchange."""
