"""An unattended loop of touches: what may stop it as it goes, and what it says at its end."""
