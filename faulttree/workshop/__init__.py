"""For shop leads: regression cases and other judgements on a book that need belief and advice."""
