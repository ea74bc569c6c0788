"""What the team does about health records: looks, talks, letters, and keeping or erasing them."""
