"""The drill: a pure state machine, the screens it shows, and the terminal that is its only face."""
