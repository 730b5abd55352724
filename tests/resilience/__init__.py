"""Nothing typed is lost, and nothing opened takes the program down."""
