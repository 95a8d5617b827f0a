"""Flying a scenario: phases, equations of motion, integrator, located events, recorder."""
