"""The path in space: a neutral airplane with its estimated attitude on its path over a grid.

What comes in: a results folder, read, and a camera. What goes out: flat shapes and labels in
pixels, which a picture and a film paint alike. It is assumed that the air velocity lies in the
plane of symmetry, so that the nose points where the air comes from; the airplane is drawn larger
than it is, and says so.
"""
