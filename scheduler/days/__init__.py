"""Practice days: where one begins, and on which days a player practises."""
