"""The simple method: earth pressures and equilibrium of a wall by hand formulae, from the case alone. It shares no finite elements with the analysis that it stands beside."""
