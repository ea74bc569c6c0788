"""At the water: getting ready, going in, coming out, wrapping up."""
