"""Choosing and flying a lesson, and answering its questions."""
