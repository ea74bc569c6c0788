"""The invented shop Harbour Steps on the invented island of Brannock: three days, made through the shop's own actions."""
