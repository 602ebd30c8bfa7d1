"""The strip: painted, built as an answer, designed by the member."""
