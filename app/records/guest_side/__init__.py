"""What a guest reads and answers: the form, its words, the card for afterwards."""
