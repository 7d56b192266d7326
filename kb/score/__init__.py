"""How good is the search? Judged questions are asked and the answers measured against what people said is right."""
