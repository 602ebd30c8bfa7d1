"""One answer: the prediction, its score, its explanation."""
