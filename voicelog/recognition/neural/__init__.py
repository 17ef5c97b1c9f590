"""A small neural recogniser whose decoder is held to the grammar, word piece by word piece."""
