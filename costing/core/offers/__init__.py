"""Ways of getting a car, held against each other on one footing: plain terms in, cash flows and figures out."""
