"""Reports: first a model of blocks, then text, HTML and PDF made from it, and open formats.

Reads values of `trainer.records` and below; draws nothing on a screen and stores nothing.
"""
