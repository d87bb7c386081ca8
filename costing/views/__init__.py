"""The pages of the costing app, home among them."""
