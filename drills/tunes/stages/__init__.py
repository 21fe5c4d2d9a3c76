"""The ten stages that take changes from bare roots to music (drills/RULES.md, D2), one module a group of stages."""
