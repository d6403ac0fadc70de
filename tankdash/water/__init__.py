"""The water itself: shapes, links, pools, filling, drawing, flow and catch. Pure, SI, no files, no clock."""
