"""The nouns of the trade, frozen, and the arrays they hold."""
