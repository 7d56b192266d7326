"""Teaching the models the words of the gym; needs the extra `models`. `scripts/train-encoder` runs it."""
