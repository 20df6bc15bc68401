"""Every feature of the format that drawings use, each in its smallest drawing."""

from __future__ import annotations

# One smallest drawing per feature; each is compared by silhouette and by picture.
FEATURES = {
    "nested groups and transforms": (
        '<g transform="translate(20 10)"><g transform="rotate(30) scale(2 1)">'
        '<rect x="5" y="5" width="20" height="30" transform="skewX(10)"/></g></g>'
    ),
    "rotation about a point": (
        '<rect x="30" y="30" width="40" height="20" transform="rotate(45, 50, 40)"/>'
    ),
    "transform-origin": (
        '<rect x="30" y="30" width="40" height="20" transform="rotate(45)" '
        'transform-origin="50 40"/>'
    ),
    "use of a shape": (
        '<defs><circle id="hub" r="12"/></defs><use href="#hub" x="30" y="40"/>'
        '<use xlink:href="#hub" transform="translate(70 60) scale(1.5)"/>'
    ),
    "symbol with its own view box": (
        '<symbol id="lamp" viewBox="0 0 10 10">'
        '<rect x="-5" width="20" height="5"/></symbol>'
        '<use href="#lamp" x="10" y="20" width="60" height="40"/>'
    ),
    "nested drawing": (
        '<svg x="10" y="10" width="50" height="80" viewBox="0 0 10 10">'
        '<circle cx="5" cy="5" r="8"/></svg>'
    ),
    "classes and rules": (
        "<style>/* seam */ .cab, .no{fill:#f00} g > rect.gone{display:none} "
        "#round{fill:none;stroke:#00f;stroke-width:6}</style>"
        '<g><rect class="cab" width="40" height="40"/>'
        '<rect class="gone" x="60" width="40" height="40"/></g>'
        '<circle id="round" cx="60" cy="70" r="20"/>'
    ),
    "inline style beats attribute": (
        '<rect width="60" height="60" fill="none" style="fill:#0a0;stroke:none"/>'
    ),
    "currentColor": (
        '<g color="#c00" fill="currentColor"><rect x="9" y="9" width="50" height="30"/></g>'
    ),
    "round caps and joins": (
        '<polyline points="20,70 50,20 80,70" fill="none" stroke="#222" stroke-width="14" '
        'stroke-linecap="round" stroke-linejoin="round"/>'
    ),
    "square caps and mitres": (
        '<polyline points="20,70 50,30 80,70" fill="none" stroke="#222" stroke-width="10" '
        'stroke-linecap="square"/>'
    ),
    "corner too sharp for its mitre": (
        '<polyline points="20,80 50,20 60,80" fill="none" stroke="#222" stroke-width="12" '
        'stroke-miterlimit="3"/>'
    ),
    "bevelled corners": (
        '<polygon points="20,80 50,20 80,80" fill="none" stroke="#222" stroke-width="16" '
        'stroke-linejoin="bevel"/>'
    ),
    "dashes": (
        '<path d="M10 50H90" stroke="#222" stroke-width="20" stroke-dasharray="15 5 5" '
        'stroke-dashoffset="7"/>'
    ),
    "stroke through a skewed frame": (
        '<circle cx="20" cy="20" r="12" fill="none" stroke="#222" stroke-width="5" '
        'transform="scale(3 1.5) skewX(20)"/>'
    ),
    "fill rule nonzero": (
        '<path d="M50 5L80 95L5 38H95L20 95Z"/>'
    ),
    "fill rule evenodd": (
        '<path fill-rule="evenodd" d="M50 5L80 95L5 38H95L20 95Z"/>'
    ),
    "window cut out by winding": (
        '<path d="M10 10H90V90H10ZM30 30V70H70V30Z"/>'
    ),
    "arcs with packed flags": (
        '<path d="M20 50a30 20 25 1160 0a5 5 0 00-9 9A30 20-25 0120 50z"/>'
    ),
    "smooth and quadratic curves": (
        '<path d="M10 80C40 10 65 10 95 80S50 95 50 60Q40 40 30 60T10 80z"/>'
    ),
    "rounded rectangle": '<rect x="10" y="20" width="70" height="40" rx="15" ry="30"/>',
    "rectangle with one radius": '<rect x="10" y="20" width="70" height="40" rx="9"/>',
    "clip path in user space": (
        '<clipPath id="c"><circle cx="50" cy="50" r="30"/></clipPath>'
        '<g clip-path="url(#c)" transform="translate(10 0)">'
        '<rect width="60" height="90"/></g>'
    ),
    "clip path by bounding box": (
        '<clipPath id="c" clipPathUnits="objectBoundingBox">'
        '<circle cx=".5" cy=".5" r=".4"/>'
        '</clipPath><rect x="10" y="20" width="80" height="50" clip-path="url(#c)"/>'
    ),
    "clip path inside a clip path": (
        '<clipPath id="a"><rect width="50" height="100"/></clipPath>'
        '<clipPath id="b" clip-path="url(#a)"><circle cx="50" cy="50" r="30"/></clipPath>'
        '<rect width="100" height="100" clip-path="url(#b)"/>'
    ),
    "clip path with a rule of its own": (
        '<clipPath id="c"><path clip-rule="evenodd" d="M10 10H90V90H10ZM30 30H70V70H30Z"/>'
        '</clipPath><rect width="100" height="100" clip-path="url(#c)"/>'
    ),
    "display none and visibility": (
        '<rect width="50" height="50"/><g display="none">'
        '<rect x="50" width="50" height="50"/>'
        '</g><rect y="50" width="50" height="50" visibility="hidden"/>'
    ),
    "units": '<rect x="2mm" y="10px" width="1cm" height="0.5in"/>',
    "percentages": '<rect x="10%" y="20%" width="50%" height="25%"/>',
    "switch": (
        '<switch><foreignObject requiredExtensions="x"/>'
        '<g><rect width="40" height="40"/></g>'
        "</switch>"
    ),
    "gradient": (
        '<linearGradient id="a"><stop offset="0" stop-color="#f00"/>'
        '<stop offset="1" stop-color="#00f"/></linearGradient>'
        '<linearGradient id="b" xlink:href="#a" gradientUnits="userSpaceOnUse" x1="10%" '
        'x2="90%" gradientTransform="rotate(20)"/>'
        '<rect x="10" y="10" width="80" height="60" fill="url(#b)" transform="scale(.9)"/>'
    ),
    "opacity": (
        '<g opacity="0.8"><rect width="50" height="80" fill="#f00" fill-opacity="0.9"/></g>'
        '<rect x="50" width="50" height="80" fill="rgba(0, 0, 255, 0.8)"/>'
    ),
    "colours by their channels": (
        '<rect x="30" width="30" height="90" fill="rgb(20%, 40%, 80%)"/>'
        '<rect x="60" width="30" height="90" fill="rgba(200, 40, 80, 0.9)"/>'
    ),
    "gradient in the colour of what surrounds it": (
        '<g color="#0a0"><linearGradient id="g">'
        '<stop offset="0" stop-color="currentColor"/>'
        '<stop offset="90%" stop-color="#00f"/></linearGradient></g>'
        '<rect x="10" y="10" width="80" height="60" fill="url(#g)"/>'
    ),
    "paint that falls back to a colour": (
        '<rect x="10" y="10" width="80" height="60" fill="url(#gone) #0a0"/>'
    ),
    "slanted along the other axis": (
        '<rect x="10" y="10" width="40" height="40" transform="skewY(20)"/>'
    ),
    "nested drawing stretched to its window": (
        '<svg x="10" y="10" width="80" height="40" viewBox="0 0 10 10" '
        'preserveAspectRatio="none"><circle cx="5" cy="5" r="5"/></svg>'
    ),
    "nested drawing that shows all of itself": (
        '<svg x="30" y="30" width="20" height="20" overflow="visible">'
        '<circle cx="10" cy="10" r="25"/></svg>'
    ),
    "clip path in a window in a clip path": (
        '<clipPath id="a"><circle cx="50" cy="50" r="40"/></clipPath>'
        '<clipPath id="b" clip-path="url(#a)"><rect x="20" width="90" height="80"/>'
        '</clipPath>'
        '<svg x="10" y="20" width="60" height="60" viewBox="0 0 60 60">'
        '<g clip-path="url(#b)"><rect width="100" height="100"/></g></svg>'
    ),
}  # fmt: skip
