"""Checks by closed form beside the finite elements: how water lifts, boils or floods a cofferdam, and what lowering it does. Plain numbers in, no case and no result."""
