"""What a flight left behind: an altimeter's file as samples. Never in a rig, a link or a plan."""
