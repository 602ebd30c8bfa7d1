"""The club's check and due practice."""
