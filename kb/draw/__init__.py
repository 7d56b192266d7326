"""A card's figure, a small scene in words, becomes a picture drawn to scale."""
