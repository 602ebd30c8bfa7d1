"""Records: attempts, the club book and the files that members and lead exchange.

Owns every SQLite file. Refuses to know about windows, clocks and randomness other than key
making: times and identities are handed in. Called by `trainer.report`, `trainer.app`,
`trainer.cli` and `trainer.ui`.
"""
