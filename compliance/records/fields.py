"""The one field table: every field that is ever asked, printed, imported or validated, once.

From it come the questions, the validator, the file schema, the page labels and docs/fields.md. A new field is one
row here and one test. Spanish labels follow the terms of docs/spanish.md; choices are stored in English.

need: when the field is wanted. 'required' stops a hand-in; 'truck' is asked of the crew, 'office' completed later,
'proof' awaited on a page; '' is welcome and never missed.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from compliance.records.answer import without_value
from compliance.records.quick import dataclass

TEXT, CHOICE, DATE, MOMENT, ZONE, COUNT = "text", "choice", "date", "moment", "zone", "count"
QUANTITY, MEASURE, REF, GROUP, LINES = "quantity", "measure", "ref", "group", "lines"

REQUIRED, TRUCK, OFFICE, PROOF, WELCOME = "required", "truck", "office", "proof", ""


@dataclass(frozen=True)
class Choice:
    """One allowed answer: the stored English word and its Spanish label.

    said: the Spanish of the crew's card, in the first person; '' where it is the label's own.
    """

    value: str
    es: str
    said: str = ""


@dataclass(frozen=True)
class Field:
    """One row of the table.

    type: one of the words above. unit: what a bare number means (QUANTITY and MEASURE; 'gal' stands for the unit of
    the book). of: the register that a REF names, or the group whose fields a GROUP list holds. said: the Spanish of the
    crew's card, in the first person; '' where it is the label's own.
    since: the first night, as an ISO date, that is incomplete without it: no earlier one was asked. '' for always.
    """

    name: str
    en: str
    es: str
    type: str = TEXT
    unit: str = ""
    of: str = ""
    choices: tuple[Choice, ...] = ()
    need: str = WELCOME
    help: str = ""
    said: str = ""
    since: str = ""


def _choices(*pairs: str) -> tuple[Choice, ...]:
    return tuple(Choice(*pair.split(" | ")) for pair in pairs)


YES_NO: Final = _choices("yes | sí", "no | no", "not known | no se sabe")
SAW: Final = _choices("saw none | miré y no vi", "yes | sí, vi", "did not look | no miré")
SEEN_ENTERING: Final = "seen entering"
ENTERING: Final = _choices(
    "none seen | se miró y no se vio", f"{SEEN_ENTERING} | se vio entrar", "not watched | no se miró"
)
DRAINS: Final = _choices(
    "as planned | como estaba previsto",
    "none there | no había",
    "except | excepto",
    "not watched | no se miró | no miré",
)
DRAINS_AT_STOP: Final = (
    *DRAINS,
    *_choices("covered | se cubrieron | lo cubrí", "did not cover | no se cubrieron | no lo cubrí"),
)
"""At a stop a crew's card says what was done; the run's answer stands for all stops and refers to the plan."""
COVERS: Final = _choices(
    "cover lifted | se quitó la cubierta | quité la cubierta", "left in place | se dejó puesta | la dejé puesta"
)
ON_SITE: Final = _choices("arrived | se llegó | llegué")
WORK: Final = _choices("done | se terminó | terminé", "not finished | no se terminó | no terminé")
RAIN: Final = _choices("none | no llovió", "some | llovió un poco", "heavy | llovió fuerte", "not known | no sé")
AGENT_USED: Final = "used"
AGENTS_USED: Final = _choices("none used | no se usó ninguno | no usé ninguno", f"{AGENT_USED} | se usó | lo usé")
_FILTERS_TOUCHED: Final = _choices("cleaned | se limpió | lo limpié", "changed | se cambió | lo cambié")
FILTERS_TOUCHED: Final = tuple(one.value for one in _FILTERS_TOUCHED)
FILTERS_DONE: Final = (*_choices("same | igual"), *_FILTERS_TOUCHED)
REACHED: Final = _choices(
    "storm drain | desagüe pluvial", "gutter or street | cuneta o calle", "surface water | arroyo o agua superficial",
    "soil | tierra", "pavement only | solo el pavimento", "not known | no se sabe | no sé",
)  # fmt: skip
ROLE_OF_TANK: Final = _choices(
    "recovery | tanque de recuperación", "holding | tanque de almacenamiento", "fresh | tanque de agua limpia"
)
SHAPES: Final = _choices(
    "rectangle | rectangular", "upright cylinder | cilindro vertical", "horizontal cylinder | cilindro horizontal",
    "not known | no se sabe",
)  # fmt: skip
SIZES_OF_SHAPE: Final[Mapping[str, tuple[str, ...]]] = {
    "rectangle": ("length", "width", "depth"),
    "upright cylinder": ("diameter", "depth"),
    "horizontal cylinder": ("diameter", "length"),
}
"""Shape -> the fields of a tank that give its inside, in the order in which `init` asks for them."""
HEIGHT_OF_SHAPE: Final[Mapping[str, str]] = {
    "rectangle": "depth",
    "upright cylinder": "depth",
    "horizontal cylinder": "diameter",
}
"""Shape -> the size above which no level stands."""
TANK_SIZES: Final = tuple(dict.fromkeys(name for names in SIZES_OF_SHAPE.values() for name in names))
"""Every field that is an inside size of some tank."""
INSTRUMENT_KINDS: Final = _choices(
    "meter | medidor", "flow test | prueba de caudal", "vessel | recipiente conocido", "scale | báscula"
)
MEASURES_WHAT: Final = _choices(
    "supply | agua tomada", "handover | agua entregada", "recovery | agua recuperada", "other | otro"
)
PLACE_KINDS: Final = _choices(
    "sewer cleanout | boca de limpieza del drenaje sanitario",
    "receiving station | estación receptora",
    "treatment plant | planta de tratamiento",
    "hauler | transportista",
    "waste facility | instalación de residuos",
    "client's interceptor | interceptor del cliente",
    "lawn or landscape | jardín o pasto",
    "storm drain | desagüe pluvial",
    "gutter or street | cuneta o calle",
    "surface water | agua superficial",
)
NOT_ALLOWED: Final = ("storm drain", "gutter or street", "surface water")
"""Kinds of place that may take wash water only under a permit of their own (40 CFR 122.26(b)(2))."""
SEWER: Final = ("sewer cleanout", "receiving station", "treatment plant")
"""Kinds of place that are part of a sanitary sewer system (40 CFR 403.5 applies)."""
PERMISSION_KINDS: Final = _choices(
    "permit | permiso", "written leave | autorización por escrito", "not needed | no hace falta"
)
AGENT_KINDS: Final = _choices(
    "detergent | detergente", "degreaser | desengrasante", "bleach | cloro (blanqueador, hipoclorito de sodio)",
    "acid | limpiador ácido", "caustic | limpiador cáustico", "solvent | solvente", "other | otro",
)  # fmt: skip
PLANS: Final = _choices("recover | recuperar", "recovery not planned | sin recuperación prevista")
WHOSE: Final = _choices("house policy | regla de la casa", "local permit | permiso local")
UNIT_CHOICES: Final = _choices("gal | galones (US gal)", "L | litros")
TANK_AFTER: Final = _choices("empty | vacío")
WEEKDAYS: Final = _choices(
    "Monday | lunes", "Tuesday | martes", "Wednesday | miércoles", "Thursday | jueves", "Friday | viernes",
    "Saturday | sábado", "Sunday | domingo",
)  # fmt: skip
LET_GO: Final = _choices("unused fresh water | agua limpia sin usar", "drain-down | vaciado del equipo")

_POSITION: Final = Field("position", "Coordinates", "Coordenadas", help="latitude, longitude (WGS 84): 40.5123, -105.1")

GROUPS: Final[Mapping[str, tuple[Field, ...]]] = {
    "business": (
        Field("name", "Business name", "Nombre de la empresa", need=REQUIRED),
        Field("unit", "Unit of volume", "Unidad de volumen", CHOICE, choices=UNIT_CHOICES, need=REQUIRED,
              help="US gallon or litre; fixed once the first night is in the book"),
        Field("zone", "Time zone", "Zona horaria", ZONE, need=REQUIRED, help="an IANA name like America/Denver"),
        Field("address", "Address", "Dirección"),
        Field("phone", "Telephone", "Teléfono"),
        Field("signer", "Who signs pages", "Quién firma las hojas", need=PROOF),
        Field("signer_role", "Role of the signer", "Cargo de quien firma", need=PROOF),
    ),
    "rig": (
        Field("name", "Rig", "Camión de lavado", need=REQUIRED, help="the nickname that the crew uses"),
        Field("plate", "Plate", "Placa"),
        Field("note", "Note", "Nota"),
    ),
    "tank": (
        Field("name", "Tank", "Tanque", need=REQUIRED),
        Field("rig", "Rig", "Camión de lavado", REF, of="rig", need=REQUIRED),
        Field("role", "Role", "Uso", CHOICE, choices=ROLE_OF_TANK, need=REQUIRED),
        Field("capacity", "Capacity to the float", "Capacidad hasta el flotador", QUANTITY, "gal", need=OFFICE),
        Field("shape", "Shape", "Forma", CHOICE, choices=SHAPES),
        Field("length", "Inside length", "Largo interior", QUANTITY, "in"),
        Field("width", "Inside width", "Ancho interior", QUANTITY, "in"),
        Field("depth", "Inside depth", "Altura interior", QUANTITY, "in"),
        Field("diameter", "Inside diameter", "Diámetro interior", QUANTITY, "in"),
        Field("mark_step", "Smallest mark", "Marca más pequeña", QUANTITY, "in",
              help="the smallest step that can be told apart on the sight tube or stick"),
        Field("accuracy", "Limit of error of its table", "Límite de error de su tabla", QUANTITY, "%"),
        Field("float_repeat", "Repeat of the float", "Repetición del flotador", QUANTITY, "gal",
              help="how far two fills to the cut-off float may differ, as ±"),
    ),
    "instrument": (
        Field("name", "Instrument", "Instrumento", need=REQUIRED),
        Field("rig", "Rig", "Camión de lavado", REF, of="rig"),
        Field("site", "At the client's site", "En el sitio del cliente", REF, of="site",
              help="of a meter that is on no rig: who draws there draws through it"),
        Field("kind", "Kind", "Tipo", CHOICE, choices=INSTRUMENT_KINDS, need=REQUIRED),
        Field("measures", "What passes through it", "Qué pasa por él", CHOICE, choices=MEASURES_WHAT),
        Field("unit", "Unit of its register", "Unidad de su carátula", CHOICE,
              choices=_choices("gal | gal", "ft3 | ft3", "L | L", "m3 | m3", "lb | lb", "kg | kg")),
        Field("step", "Smallest step", "Paso más pequeño", QUANTITY, "count",
              help="the smallest step of its register, in its own unit"),
        Field("accuracy", "Stated limit of error", "Límite de error indicado", QUANTITY, "%"),
        Field("rolls_over_at", "Rolls over at", "Vuelve a cero en", QUANTITY, "count"),
        Field("rate", "Flow found by the test", "Caudal de la prueba", QUANTITY, "gal/min"),
        Field("size", "Size of the vessel", "Tamaño del recipiente", QUANTITY, "gal"),
        Field("tested", "Last tested on", "Última prueba", DATE),
    ),
    "place": (
        Field("name", "Place", "Lugar", need=REQUIRED),
        Field("kind", "Kind of place", "Tipo de lugar", CHOICE, choices=PLACE_KINDS, need=OFFICE),
        Field("address", "Address", "Dirección", need=PROOF),
        Field("operator", "Operated by", "A cargo de"),
        Field("site", "At the client's site", "En el sitio del cliente", REF, of="site"),
        Field("designated", "Point designated by the sewer authority", "Punto designado por la autoridad del drenaje",
              CHOICE, choices=YES_NO),
    ),
    "permission": (
        Field("name", "Permission", "Permiso o autorización", need=REQUIRED, help="its number, or a short name"),
        Field("place", "For the place", "Para el lugar", REF, of="place", need=REQUIRED),
        Field("kind", "Kind", "Tipo", CHOICE, choices=PERMISSION_KINDS, need=REQUIRED),
        Field("given_by", "Given by", "Dado por", need=PROOF),
        Field("because", "Not needed because", "No hace falta porque"),
        Field("valid_from", "Valid from", "Válido desde", DATE, need=OFFICE),
        Field("valid_to", "Valid to", "Válido hasta", DATE, help="leave out when it has no end"),
        Field("ph_low", "Lowest pH it allows", "pH más bajo permitido", QUANTITY, "pH"),
        Field("ph_high", "Highest pH it allows", "pH más alto permitido", QUANTITY, "pH"),
        Field("longest_aboard", "Longest time in a vehicle's tank", "Tiempo máximo en el tanque", QUANTITY, "days"),
        Field("conditions", "Conditions in its words", "Condiciones"),
    ),
    "client": (
        Field("name", "Client", "Cliente", need=REQUIRED),
        Field("address", "Address", "Dirección"),
        Field("contact", "Contact", "Contacto"),
    ),
    "site": (
        Field("name", "Site", "Sitio", need=REQUIRED),
        Field("client", "Client", "Cliente", REF, of="client"),
        Field("address", "Address", "Dirección", need=PROOF),
        Field("area", "Area usually washed", "Área que se lava", QUANTITY, "ft2"),
        Field("drains", "Storm drains there", "Desagües pluviales", COUNT, help="how many; 0 when there are none"),
        _POSITION,
    ),
    "person": (
        Field("name", "Name", "Nombre", need=REQUIRED),
        Field("role", "Role", "Cargo"),
        Field("training", "Training", "Capacitación", help="what they were trained in, in words"),
        Field("trained_on", "Trained on", "Fecha de la capacitación", DATE),
        Field("trained_to", "Training holds until", "Capacitación válida hasta", DATE),
    ),
    "agent": (
        Field("name", "Product", "Producto", need=REQUIRED),
        Field("kind", "Kind", "Tipo", CHOICE, choices=AGENT_KINDS, need=OFFICE),
        Field("data_sheet", "Data sheet on file", "Hoja de datos de seguridad", CHOICE, choices=YES_NO, need=OFFICE),
        Field("note", "Note", "Nota"),
    ),
    "job": (
        Field("name", "Job", "Trabajo", need=REQUIRED),
        Field("client", "Client", "Cliente", REF, of="client"),
        Field("site", "Site", "Sitio", REF, of="site"),
        Field("plan", "Plan", "Plan", CHOICE, choices=PLANS),
        Field("nights", "Nights planned", "Noches previstas", COUNT),
        Field("note", "Note", "Nota"),
    ),
    "limit": (
        Field("name", "Limit", "Límite", need=REQUIRED,
              help="'recovery ratio', 'days aboard' or 'days since backup'; one row a limit and source"),
        Field("value", "Value", "Valor", QUANTITY, "%", help="percent for a ratio, days for a time aboard"),
        Field("none_yet", "None yet", "Todavía ninguno", CHOICE, choices=YES_NO,
              help="yes takes an earlier value back; a value given later stands again"),
        Field("whose", "Whose", "De quién", CHOICE, choices=WHOSE),
        Field("source", "Source", "Fuente"),
        Field("applies_from", "Applies from", "Vale desde", DATE),
    ),
    "run": (
        Field("rig", "Rig", "Camión de lavado", REF, of="rig", need=REQUIRED),
        Field("lead", "Crew lead", "Quien dirige la cuadrilla", REF, of="person", need=REQUIRED),
        Field("date", "Date of the start", "Fecha de inicio", DATE, need=REQUIRED),
        Field("where", "Where the water is", "Dónde está el agua", REF, of="place", need=REQUIRED,
              help="'aboard', the name of a place, 'see lines', 'no water' or 'not known'"),
        Field("crew", "Crew", "Cuadrilla", help="the other names, with commas"),
        Field("start", "Start", "Inicio", MOMENT, need=OFFICE),
        Field("end", "End", "Fin", MOMENT, need=OFFICE),
        Field("supply", "Where the fresh water came from", "De dónde vino el agua limpia", need=OFFICE),
        Field("used", "Used (fresh water drawn)", "Agua utilizada en el lavado", MEASURE, "gal", need=TRUCK),
        Field("used_also", "Used, by a second method", "Agua utilizada, segundo método", MEASURE, "gal"),
        Field("recovered", "Recovered", "Agua recuperada", MEASURE, "gal", need=TRUCK),
        Field("recovered_also", "Recovered, by a second method", "Agua recuperada, segundo método", MEASURE, "gal"),
        Field("got_away", "Water that got away", "Agua que se escapó", CHOICE, choices=SAW, need=TRUCK),
        Field("drains", "Storm drains", "Desagües pluviales", CHOICE, choices=DRAINS, need=TRUCK),
        Field("agent_use", "Cleaning agent", "Producto de limpieza", CHOICE, choices=AGENTS_USED, need=TRUCK),
        Field("filters", "Filters", "Filtros", CHOICE, choices=FILTERS_DONE, need=TRUCK),
        Field("sock", "Strainer sock", "Calcetín filtrante", CHOICE, choices=FILTERS_DONE),
        Field("cartridges", "Cartridge filters", "Filtros de cartucho", CHOICE, choices=FILTERS_DONE),
        Field("rain", "Rain", "Lluvia", CHOICE, choices=RAIN, need=TRUCK),
        Field("ticket", "Ticket", "Recibo", help="its number, or 'later'"),
        Field("cancelled", "Run cancelled because", "Salida cancelada porque"),
        Field("remark", "Remark", "Observación"),
        Field("card", "Card", "Hoja de la cuadrilla",
              help="the serial on the crew's paper card, like 2345-6789-C; the same card is the same night"),
        Field("keyed_by", "Keyed by", "Capturado por", REF, of="person"),
    ),
    "stop": (
        Field("job", "Job", "Trabajo", REF, of="job"),
        Field("client", "Client", "Cliente", REF, of="client", need=OFFICE),
        Field("site", "Site", "Sitio", REF, of="site", need=REQUIRED),
        Field("continued", "The same stop, continued", "La misma parada, sigue", CHOICE, choices=YES_NO),
        Field("not_worked", "Not worked because", "No se trabajó porque", said="No trabajé porque"),
        Field("on_site", "On site", "En el sitio", CHOICE, choices=ON_SITE, help="a tick on a card, without its time"),
        Field("work", "Work, at the end", "Trabajo, al final", CHOICE, choices=WORK),
        Field("arrived", "Arrived", "Llegada", MOMENT, need=PROOF),
        Field("left", "Left", "Salida del sitio", MOMENT, need=PROOF),
        Field("surface", "Surface", "Superficie", need=PROOF),
        Field("area", "Area", "Área", QUANTITY, "ft2", need=OFFICE),
        Field("plan", "Plan", "Plan", CHOICE, choices=PLANS),
        Field("supply", "Where the fresh water came from", "De dónde vino el agua limpia"),
        Field("used", "Used (fresh water drawn)", "Agua utilizada en el lavado", MEASURE, "gal"),
        Field("used_also", "Used, by a second method", "Agua utilizada, segundo método", MEASURE, "gal"),
        Field("recovered", "Recovered", "Agua recuperada", MEASURE, "gal"),
        Field("recovered_also", "Recovered, by a second method", "Agua recuperada, segundo método", MEASURE, "gal"),
        Field("got_away", "Water that got away", "Agua que se escapó", CHOICE, choices=SAW),
        Field("drains", "Storm drains", "Desagües pluviales", CHOICE, choices=DRAINS_AT_STOP),
        Field("covers", "Drain covers, afterwards", "Cubiertas, después", CHOICE, choices=COVERS),
        Field("tank_filled", "Tank filled", "Se llenó el tanque", COUNT,
              help="how many times the recovery tank filled to its float here, by the ticks on a card"),
        Field("drain_list", "Drain by drain", "Cada desagüe pluvial", GROUP, of="drain"),
        Field("agent_use", "Cleaning agent", "Producto de limpieza", CHOICE, choices=AGENTS_USED),
        Field("agents", "Agents used", "Productos usados", GROUP, of="agent use"),
        Field("filter_list", "Filter stages", "Etapas de filtrado", GROUP, of="filter stage"),
        Field("hot", "Hot water", "Agua caliente", CHOICE, choices=YES_NO),
        Field("old_paint", "Paint from before 1978 disturbed", "Pintura de antes de 1978", CHOICE, choices=YES_NO),
        Field("rain", "Rain", "Lluvia", CHOICE, choices=RAIN),
        Field("remark", "Remark", "Observación"),
    ),
    "drain": (
        Field("name", "Drain", "Desagüe pluvial", need=REQUIRED),
        Field("method", "How it was protected", "Cómo se protegió", need=OFFICE,
              help="cover mat, plug, berm, vacuum at the inlet, none"),
        Field("on", "Put on", "Se puso", MOMENT, need=PROOF),
        Field("off", "Taken off", "Se quitó", MOMENT, need=PROOF),
        Field("seen", "Water seen entering", "Agua que entró", CHOICE, choices=ENTERING, need=TRUCK),
        Field("public", "In the public way", "En la vía pública", CHOICE, choices=YES_NO),
        Field("photo", "Photo", "Foto"),
    ),
    "agent use": (
        Field("agent", "Product", "Producto", REF, of="agent", need=REQUIRED),
        Field("parts", "Parts of concentrate", "Partes de producto", QUANTITY, "count"),
        Field("parts_water", "Parts of water", "Partes de agua", QUANTITY, "count"),
        Field("amount", "Concentrate used", "Producto usado", QUANTITY, "gal", need=OFFICE),
    ),
    "filter stage": (
        Field("what", "Stage", "Etapa", need=REQUIRED, help="strainer sock, cartridge ..."),
        Field("opening", "Opening", "Abertura", QUANTITY, "um", need=OFFICE),
        Field("through", "Through it", "Pasó por ella", QUANTITY, "gal"),
        Field("done", "Cleaned or changed", "Se limpió o se cambió", CHOICE, choices=FILTERS_DONE, need=TRUCK),
        Field("media_to", "Where the spent media went", "A dónde fue lo gastado"),
    ),
    "reading": (
        Field("of", "Tank or instrument", "Tanque o instrumento", REF, of="tank or instrument", need=REQUIRED),
        Field("shows", "It shows", "Lo que marca", QUANTITY, "in", need=TRUCK,
              help="a level in inches, a volume, or the figure on the register; 'empty' and 'full' are read marks"),
        Field("at", "Time", "Hora", MOMENT),
        Field("by", "Read by", "Leído por", REF, of="person"),
    ),
    "take on": (
        Field("place", "Taken from", "Tomada de", need=OFFICE),
        Field("amount", "Amount", "Cantidad", MEASURE, "gal", need=TRUCK),
        Field("at", "Time", "Hora", MOMENT),
    ),
    "tank full": (
        Field("tank", "Tank", "Tanque", REF, of="tank"),
        Field("at", "Time", "Hora", MOMENT),
    ),
    "hand over": (
        Field("place", "Place", "Lugar", REF, of="place", need=REQUIRED),
        Field("tank", "From tank", "Del tanque", REF, of="tank"),
        Field("amount", "Our volume", "Nuestra cantidad", MEASURE, "gal", need=TRUCK),
        Field("tank_after", "Tank afterwards", "El tanque después", QUANTITY, "in", choices=TANK_AFTER, need=TRUCK),
        Field("connection", "Kind of connection", "Tipo de conexión", need=PROOF),
        Field("permission", "Permission", "Permiso o autorización", REF, of="permission", need=PROOF),
        Field("at", "Time", "Hora", MOMENT, need=PROOF),
        Field("by", "Handed over by", "Entregado por", REF, of="person"),
        Field("received_by", "Received by", "Recibido por", need=WELCOME),
        Field("ticket", "Ticket", "Recibo", need=PROOF, help="its number, 'later', or 'not applicable'"),
        Field("accepted", "Accepted by them", "Aceptado por ellos", QUANTITY, "gal"),
        Field("refused", "Refused because", "Rechazado porque"),
        Field("ph", "pH", "pH", QUANTITY, "pH"),
        Field("ph_method", "pH read with", "pH leído con"),
    ),
    "use again": (
        Field("tank", "From tank", "Del tanque", REF, of="tank"),
        Field("amount", "Amount", "Cantidad", MEASURE, "gal", need=TRUCK),
        Field("at", "Time", "Hora", MOMENT),
    ),
    "move": (
        Field("tank", "From tank", "Del tanque", REF, of="tank", need=REQUIRED),
        Field("to", "To tank", "Al tanque", REF, of="tank", need=REQUIRED),
        Field("amount", "Amount", "Cantidad", MEASURE, "gal", need=TRUCK),
        Field("tank_after", "Tank afterwards", "El tanque después", QUANTITY, "in", choices=TANK_AFTER),
        Field("at", "Time", "Hora", MOMENT),
    ),
    "escape": (
        Field("what", "What happened", "Qué pasó", need=REQUIRED),
        Field("reached", "It reached", "Llegó a", CHOICE, choices=REACHED, need=TRUCK),
        Field("from_tank", "Out of a tank", "Salió de un tanque", REF, of="tank"),
        Field("amount", "Amount", "Cantidad", MEASURE, "gal"),
        Field("stopped", "How it was stopped", "Cómo se detuvo"),
        Field("told", "Who was told", "A quién se avisó"),
        Field("at", "Time", "Hora", MOMENT),
    ),
    "led away": (
        Field("place", "Led away to", "Llevada a", REF, of="place", need=REQUIRED),
        Field("permission", "Permission", "Permiso o autorización", REF, of="permission", need=PROOF),
        Field("amount", "Amount", "Cantidad", MEASURE, "gal"),
        Field("at", "Time", "Hora", MOMENT),
    ),
    "let go": (
        Field("what", "What", "Qué", CHOICE, choices=LET_GO, need=REQUIRED),
        Field("amount", "Amount", "Cantidad", MEASURE, "gal"),
        Field("place", "Where", "Dónde"),
        Field("at", "Time", "Hora", MOMENT),
    ),
    "foreign water": (
        Field("what", "What came in", "Qué entró", need=REQUIRED, help="rain, a hose, another rig's water"),
        Field("tank", "Into tank", "Al tanque", REF, of="tank"),
        Field("amount", "Amount", "Cantidad", MEASURE, "gal"),
        Field("at", "Time", "Hora", MOMENT),
    ),
    "agent in tank": (
        Field("agent", "Product", "Producto", REF, of="agent", need=REQUIRED),
        Field("tank", "Into tank", "Al tanque", REF, of="tank"),
        Field("amount", "Amount", "Cantidad", MEASURE, "gal"),
        Field("at", "Time", "Hora", MOMENT),
    ),
    "agent jugs": (
        Field("agent", "Product", "Producto", REF, of="agent", need=REQUIRED),
        Field("jugs", "Jugs", "Envases", QUANTITY, "count", help="how many were used in the whole night"),
        Field("size", "In each", "En cada uno", QUANTITY, "gal"),
    ),
    "solids": (
        Field("what", "What was taken out", "Qué se sacó", need=REQUIRED),
        Field("tank", "Of tank", "Del tanque", REF, of="tank"),
        Field("amount", "Amount", "Cantidad", MEASURE, "gal"),
        Field("place", "Where it went", "A dónde fue", need=OFFICE),
    ),
    "remark": (Field("text", "Remark", "Observación", need=REQUIRED),),
    "ticket": (
        Field("number", "Ticket number", "Número de recibo", need=REQUIRED),
        Field("place", "Place", "Lugar", REF, of="place"),
        Field("date", "Date on it", "Fecha del recibo", DATE),
        Field("accepted", "Accepted", "Aceptado", QUANTITY, "gal", need=PROOF),
        Field("received_by", "Received by", "Recibido por", need=PROOF),
        Field("refused", "Refused because", "Rechazado porque"),
        Field("remark", "Remark", "Observación"),
    ),
    "inquiry": (
        Field("asked_by", "Who asked", "Quién preguntó"),
        Field("behalf", "On behalf of", "En nombre de"),
        Field("case", "Case number", "Número de caso"),
        Field("asked", "When it was asked", "Cuándo se preguntó", MOMENT, help="with its date; a date alone is taken"),
        Field("how", "How it was asked", "Cómo se preguntó", help="by telephone, by letter, at the gate"),
        Field("address", "Place, as it was told", "Lugar, como se dijo"),
        Field("site", "Site", "Sitio", REF, of="site"),
        Field("drain", "Drain", "Desagüe pluvial"),
        _POSITION,
        Field("radius", "Within", "A menos de", help="a distance like 300 ft or 100 m around the coordinates"),
        Field("first", "From", "Desde", MOMENT, help="with its date; a date alone is the whole day"),
        Field("until", "Until", "Hasta", MOMENT, help="with its date; a date alone is the whole day"),
        Field("weekday", "Only on a", "Solo en", CHOICE, choices=WEEKDAYS),
        Field("alleged", "What is alleged", "Lo que se afirma"),
        Field("words", "Words to look for", "Palabras que se buscan", help="in what was typed of these days"),
        Field("due", "Answer due", "Respuesta para", MOMENT, help="with its date; a date alone is taken"),
    ),
}  # fmt: skip

REGISTERS: Final = ("rig", "tank", "instrument", "place", "permission", "client", "site", "person", "agent", "job",
                    "limit")  # fmt: skip
"""The registers of the office, in the order in which they refer to each other."""

LINE_KINDS: Final = ("stop", "reading", "take on", "tank full", "hand over", "use again", "move", "escape", "led away",
                     "let go", "foreign water", "agent in tank", "agent jugs", "solids", "remark")  # fmt: skip
"""What a line of a run can be."""

WHERE: Final = _choices(
    "aboard | a bordo", "see lines | ver las líneas", "no water | no hubo agua", "not known | no se sabe | no sé"
)
WHERE_WORDS: Final = tuple(choice.value for choice in WHERE)
"""Answers to 'where is the water' that are not the name of a place."""


def is_place(where: Any) -> bool:
    """Whether a stored answer to 'where is the water' names a place."""
    return without_value(where) is None and where not in WHERE_WORDS


def field(group: str, name: str) -> Field:
    """The row of one field. Raises KeyError when the table has none."""
    for row in GROUPS[group]:
        if row.name == name:
            return row
    raise KeyError(f"{group}.{name}")
