"""What the bench does on a click: ranking, searching, sending to layers."""
