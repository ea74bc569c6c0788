"""Kit and lead: what there is, who has it, what fits."""
