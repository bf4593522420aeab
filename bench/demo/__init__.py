"""An invented laboratory to look around in: nothing in it is of a real person, lab or patient."""
