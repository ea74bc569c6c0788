"""The invented shop Harbour Steps on the island of Brannock: three days, told through the actions."""
