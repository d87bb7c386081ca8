"""Forms in which a comparison and its offers are typed."""
