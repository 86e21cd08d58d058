<?xml version="1.0" encoding="utf-8"?>
<!DOCTYPE TS>
<TS version="2.1">
<context>
    <name>ActionsBar</name>
    <message>
        <source>Pin</source>
        <translation>Merken</translation>
    </message>
    <message>
        <source>Keep this place, to compare it with others</source>
        <translation>Diesen Ort merken, um ihn mit anderen zu vergleichen</translation>
    </message>
    <message>
        <source>Site sheet</source>
        <translation>Standortblatt</translation>
    </message>
    <message>
        <source>Write a sheet of this place: page, print, observation mask</source>
        <translation>Ein Blatt zu diesem Ort schreiben: Seite, Druck, Beobachtungsmaske</translation>
    </message>
    <message>
        <source>The plugin Processing is not enabled. Enable it, then try again.</source>
        <translation>Die Erweiterung Processing ist nicht eingeschaltet. Schalten Sie sie ein und versuchen Sie es noch einmal.</translation>
    </message>
    <message>
        <source>Processing does not know the site sheet. Enable the plugin Stillwater.</source>
        <translation>Processing kennt das Standortblatt nicht. Schalten Sie die Erweiterung Stillwater ein.</translation>
    </message>
    <message>
        <source>The folder for temporary files cannot be written to.</source>
        <translation>In den Ordner für temporäre Dateien kann nicht geschrieben werden.</translation>
    </message>
    <message>
        <source>Bench</source>
        <translation>Werkbank</translation>
    </message>
</context>
<context>
    <name>Bench</name>
    <message>
        <source>Take the antenna off</source>
        <translation>Antenne wegnehmen</translation>
    </message>
    <message>
        <source>Move the antenna</source>
        <translation>Antenne versetzen</translation>
    </message>
    <message>
        <source>The map&apos;s new coordinate reference system cannot express the place. Place the antenna anew.</source>
        <translation>Das neue Koordinatensystem der Karte kann den Ort nicht ausdrücken. Setzen Sie die Antenne neu.</translation>
    </message>
    <message>
        <source>Spot {}</source>
        <translation>Ort {}</translation>
    </message>
</context>
<context>
    <name>BenchDock</name>
    <message>
        <source>Stillwater bench</source>
        <translation>Stillwater-Werkbank</translation>
    </message>
    <message>
        <source>Choose at least land cover, water polygons or an elevation model, below under “Layers”.</source>
        <translation>Wählen Sie mindestens Landbedeckung, Wasserflächen oder ein Höhenmodell, unten unter „Layer“.</translation>
    </message>
    <message>
        <source>The map is in degrees. Distances and heights of the bench are still true metres.</source>
        <translation>Die Karte ist in Grad. Entfernungen und Höhen der Werkbank sind dennoch wahre Meter.</translation>
    </message>
</context>
<context>
    <name>BenchWindow</name>
    <message>
        <source>Stillwater bench</source>
        <translation>Stillwater-Werkbank</translation>
    </message>
    <message>
        <source>Place an antenna on the map, and see at once what it would be worth</source>
        <translation>Eine Antenne auf die Karte setzen und sofort sehen, was sie taugen würde</translation>
    </message>
    <message>
        <source>Place an antenna</source>
        <translation>Eine Antenne setzen</translation>
    </message>
</context>
<context>
    <name>BetterPosition</name>
    <message>
        <source>Better position</source>
        <translation>Besserer Ort</translation>
    </message>
    <message>
        <source>Search near the antenna for a place and a height with a higher score; the arrow sets how far</source>
        <translation>In der Nähe der Antenne einen Ort und eine Höhe mit mehr Punkten suchen; der Pfeil stellt ein, wie weit</translation>
    </message>
    <message>
        <source>Go there</source>
        <translation>Dorthin</translation>
    </message>
    <message>
        <source>Leave it</source>
        <translation>Lassen</translation>
    </message>
    <message>
        <source>Move the antenna there, and set its height; can be undone</source>
        <translation>Die Antenne dorthin versetzen und ihre Höhe einstellen; lässt sich zurücknehmen</translation>
    </message>
    <message>
        <source>Leave the antenna where it is</source>
        <translation>Die Antenne lassen, wo sie ist</translation>
    </message>
    <message>
        <source> m</source>
        <translation> m</translation>
    </message>
    <message>
        <source>Up to so far away</source>
        <translation>Bis so weit entfernt</translation>
    </message>
    <message>
        <source>Up to so much higher or lower</source>
        <translation>Bis so viel höher oder tiefer</translation>
    </message>
    <message>
        <source>Bench</source>
        <translation>Werkbank</translation>
    </message>
    <message>
        <source>Searching a better position … {} %</source>
        <translation>Ein besserer Ort wird gesucht … {} %</translation>
    </message>
    <message>
        <source>The search ended without a result.</source>
        <translation>Die Suche endete ohne Ergebnis.</translation>
    </message>
    <message>
        <source>No better position was found within {} m.</source>
        <translation>Im Umkreis von {} m wurde kein besserer Ort gefunden.</translation>
    </message>
    <message>
        <source>N</source>
        <translation>N</translation>
    </message>
    <message>
        <source>NE</source>
        <translation>NO</translation>
    </message>
    <message>
        <source>E</source>
        <translation>O</translation>
    </message>
    <message>
        <source>SE</source>
        <translation>SO</translation>
    </message>
    <message>
        <source>S</source>
        <translation>S</translation>
    </message>
    <message>
        <source>SW</source>
        <translation>SW</translation>
    </message>
    <message>
        <source>W</source>
        <translation>W</translation>
    </message>
    <message>
        <source>NW</source>
        <translation>NW</translation>
    </message>
    <message>
        <source>here</source>
        <translation>hier</translation>
    </message>
    <message>
        <source>{} m to the {}</source>
        <translation>{} m nach {}</translation>
    </message>
    <message>
        <source>Score {} → {}, {}, antenna at {} m</source>
        <translation>Punkte {} → {}, {}, Antenne auf {} m</translation>
    </message>
</context>
<context>
    <name>CandidatesButton</name>
    <message>
        <source>Add to candidates</source>
        <translation>Zu den Kandidaten</translation>
    </message>
    <message>
        <source>Add the place to a layer of candidates of your choice</source>
        <translation>Den Ort in einen Kandidatenlayer Ihrer Wahl aufnehmen</translation>
    </message>
    <message>
        <source>New temporary layer</source>
        <translation>Neuer temporärer Layer</translation>
    </message>
    <message>
        <source>New GeoPackage layer …</source>
        <translation>Neuer GeoPackage-Layer …</translation>
    </message>
    <message>
        <source>Add a candidate</source>
        <translation>Kandidat aufnehmen</translation>
    </message>
    <message>
        <source>“{}” was added to layer “{}”.</source>
        <translation>„{}“ wurde in den Layer „{}“ aufgenommen.</translation>
    </message>
    <message>
        <source>GeoPackage for a new layer</source>
        <translation>GeoPackage für einen neuen Layer</translation>
    </message>
    <message>
        <source>GeoPackage (*.gpkg)</source>
        <translation>GeoPackage (*.gpkg)</translation>
    </message>
    <message>
        <source>Candidates</source>
        <translation>Kandidaten</translation>
    </message>
    <message>
        <source>Spot {}</source>
        <translation>Ort {}</translation>
    </message>
    <message>
        <source>Add the place to layer “{}”; the arrow chooses another</source>
        <translation>Den Ort in den Layer „{}“ aufnehmen; der Pfeil wählt einen anderen</translation>
    </message>
</context>
<context>
    <name>ChartsPanel</name>
    <message>
        <source>Good directions</source>
        <translation>Gute Richtungen</translation>
    </message>
    <message>
        <source>Elevation angles</source>
        <translation>Höhenwinkel</translation>
    </message>
    <message>
        <source>Passes of the day</source>
        <translation>Durchgänge des Tages</translation>
    </message>
    <message>
        <source>Quality by azimuth</source>
        <translation>Güte nach Azimut</translation>
    </message>
    <message>
        <source>Usable elevation angles by azimuth</source>
        <translation>Brauchbare Höhenwinkel nach Azimut</translation>
    </message>
    <message>
        <source>Usable passes through the day</source>
        <translation>Brauchbare Durchgänge über den Tag</translation>
    </message>
</context>
<context>
    <name>FirstHint</name>
    <message>
        <source>Click to place, drag to move, turn the wheel over the antenna for its height, Esc to leave.</source>
        <translation>Klicken setzt die Antenne, Ziehen versetzt sie, das Mausrad über ihr ändert ihre Höhe, Esc beendet.</translation>
    </message>
    <message>
        <source>Open the sample project</source>
        <translation>Beispielprojekt öffnen</translation>
    </message>
    <message>
        <source>Copy an invented coast into a folder of your choice, and open it</source>
        <translation>Eine erfundene Küste in einen Ordner Ihrer Wahl kopieren und öffnen</translation>
    </message>
    <message>
        <source>Dismiss</source>
        <translation>Schließen</translation>
    </message>
    <message>
        <source>Never show this again</source>
        <translation>Nicht mehr zeigen</translation>
    </message>
    <message>
        <source>Folder for a copy of the sample project</source>
        <translation>Ordner für eine Kopie des Beispielprojekts</translation>
    </message>
    <message>
        <source>The sample could not be copied: {}</source>
        <translation>Das Beispiel konnte nicht kopiert werden: {}</translation>
    </message>
</context>
<context>
    <name>LayersForm</name>
    <message>
        <source>Layers</source>
        <translation>Layer</translation>
    </message>
    <message>
        <source>surface or nothing</source>
        <translation>Oberfläche oder nichts</translation>
    </message>
    <message>
        <source>the bed</source>
        <translation>den Grund</translation>
    </message>
    <message>
        <source>the surface</source>
        <translation>die Oberfläche</translation>
    </message>
    <message>
        <source>everything else</source>
        <translation>alles andere</translation>
    </message>
    <message>
        <source>such as 80, 90-95</source>
        <translation>etwa 80, 90-95</translation>
    </message>
</context>
<context>
    <name>LookEngine</name>
    <message>
        <source>Reading the layers …</source>
        <translation>Die Layer werden gelesen …</translation>
    </message>
    <message>
        <source>Stillwater: look from here</source>
        <translation>Stillwater: von hier aus schauen</translation>
    </message>
</context>
<context>
    <name>LookTask</name>
    <message>
        <source>this place</source>
        <translation>dieser Ort</translation>
    </message>
</context>
<context>
    <name>MessageStrip</name>
    <message>
        <source>Working</source>
        <translation>In Arbeit</translation>
    </message>
    <message>
        <source>Hint</source>
        <translation>Hinweis</translation>
    </message>
    <message>
        <source>Warning</source>
        <translation>Warnung</translation>
    </message>
    <message>
        <source>Error</source>
        <translation>Fehler</translation>
    </message>
</context>
<context>
    <name>PinsPanel</name>
    <message>
        <source>Pins</source>
        <translation>Gemerkte Orte</translation>
    </message>
    <message>
        <source>Pin a position to compare it with others.</source>
        <translation>Merken Sie einen Ort, um ihn mit anderen zu vergleichen.</translation>
    </message>
    <message>
        <source>Go there</source>
        <translation>Dorthin</translation>
    </message>
    <message>
        <source>&lt;p&gt;Put the antenna on pin {}&lt;/p&gt;</source>
        <translation>&lt;p&gt;Die Antenne auf den gemerkten Ort {} setzen&lt;/p&gt;</translation>
    </message>
    <message>
        <source>Rename</source>
        <translation>Umbenennen</translation>
    </message>
    <message>
        <source>&lt;p&gt;Rename pin {}&lt;/p&gt;</source>
        <translation>&lt;p&gt;Gemerkten Ort {} umbenennen&lt;/p&gt;</translation>
    </message>
    <message>
        <source>Remove</source>
        <translation>Entfernen</translation>
    </message>
    <message>
        <source>&lt;p&gt;Remove pin {} (Del)&lt;/p&gt;</source>
        <translation>&lt;p&gt;Gemerkten Ort {} entfernen (Entf)&lt;/p&gt;</translation>
    </message>
</context>
<context>
    <name>PinsTable</name>
    <message>
        <source>suitable</source>
        <translation>geeignet</translation>
    </message>
    <message>
        <source>marginal</source>
        <translation>grenzwertig</translation>
    </message>
    <message>
        <source>unsuitable</source>
        <translation>ungeeignet</translation>
    </message>
    <message>
        <source>not assessed</source>
        <translation>nicht beurteilt</translation>
    </message>
    <message>
        <source>the surface</source>
        <translation>der Oberfläche</translation>
    </message>
    <message>
        <source>the ground</source>
        <translation>dem Boden</translation>
    </message>
    <message>
        <source>the datum</source>
        <translation>dem Höhenbezug</translation>
    </message>
    <message>
        <source>the ellipsoid</source>
        <translation>dem Ellipsoid</translation>
    </message>
    <message>
        <source>Name</source>
        <translation>Name</translation>
    </message>
    <message>
        <source>Found with</source>
        <translation>Gefunden mit</translation>
    </message>
    <message>
        <source>Purpose</source>
        <translation>Zweck</translation>
    </message>
    <message>
        <source>Signal</source>
        <translation>Signal</translation>
    </message>
    <message>
        <source>Height from</source>
        <translation>Höhe über</translation>
    </message>
    <message>
        <source>Verdict</source>
        <translation>Urteil</translation>
    </message>
    <message>
        <source>Score</source>
        <translation>Punkte</translation>
    </message>
    <message>
        <source>Height</source>
        <translation>Höhe</translation>
    </message>
    <message>
        <source>Over low level</source>
        <translation>Über tiefstem Stand</translation>
    </message>
    <message>
        <source>Over high level</source>
        <translation>Über höchstem Stand</translation>
    </message>
    <message>
        <source>Mean quality</source>
        <translation>Mittlere Güte</translation>
    </message>
    <message>
        <source>Azimuth span</source>
        <translation>Azimutspanne</translation>
    </message>
    <message>
        <source>Elevations</source>
        <translation>Höhenwinkel</translation>
    </message>
    <message>
        <source>Separation</source>
        <translation>Trennung</translation>
    </message>
    <message>
        <source>Arcs a day</source>
        <translation>Bögen am Tag</translation>
    </message>
    <message>
        <source>Longest gap</source>
        <translation>Längste Lücke</translation>
    </message>
    <message>
        <source>Interval</source>
        <translation>Intervall</translation>
    </message>
    <message>
        <source>Limited by</source>
        <translation>Begrenzt durch</translation>
    </message>
    <message>
        <source>Advice</source>
        <translation>Rat</translation>
    </message>
    <message>
        <source>{} m</source>
        <translation>{} m</translation>
    </message>
    <message>
        <source>these settings</source>
        <translation>diesen Einstellungen</translation>
    </message>
    <message>
        <source>other settings</source>
        <translation>anderen Einstellungen</translation>
    </message>
    <message>
        <source>Nothing</source>
        <translation>Nichts</translation>
    </message>
    <message>
        <source>{} to {}°</source>
        <translation>{} bis {}°</translation>
    </message>
    <message>
        <source>at least {} h</source>
        <translation>mindestens {} h</translation>
    </message>
    <message>
        <source>{} h</source>
        <translation>{} h</translation>
    </message>
    <message>
        <source>{} s</source>
        <translation>{} s</translation>
    </message>
    <message>
        <source>{}, {}: {}</source>
        <translation>{}, {}: {}</translation>
    </message>
    <message>
        <source>{} ({} differ from those of the bench)</source>
        <translation>{} ({} weichen von denen der Werkbank ab)</translation>
    </message>
    <message>
        <source>{}, the best of all pins</source>
        <translation>{}, das Beste aller gemerkten Orte</translation>
    </message>
    <message>
        <source>Precision</source>
        <translation>Genauigkeit</translation>
    </message>
</context>
<context>
    <name>PlaceControls</name>
    <message>
        <source>Place</source>
        <translation>Setzen</translation>
    </message>
    <message>
        <source>Place the antenna: click on the map, drag it, turn the wheel over it for its height (also ↑ and ↓); Esc leaves</source>
        <translation>Die Antenne setzen: auf die Karte klicken, sie ziehen, das Mausrad über ihr für ihre Höhe drehen (auch ↑ und ↓); Esc beendet</translation>
    </message>
    <message>
        <source>Undo:</source>
        <translation>Zurücknehmen:</translation>
    </message>
    <message>
        <source>Take a step back (on the map: Ctrl+Z)</source>
        <translation>Einen Schritt zurücknehmen (auf der Karte: Strg+Z)</translation>
    </message>
    <message>
        <source>Redo:</source>
        <translation>Wiederholen:</translation>
    </message>
    <message>
        <source>Take the step again (on the map: Ctrl+Y)</source>
        <translation>Den Schritt wiederholen (auf der Karte: Strg+Y)</translation>
    </message>
    <message>
        <source> m</source>
        <translation> m</translation>
    </message>
    <message>
        <source>above the surface</source>
        <translation>über der Oberfläche</translation>
    </message>
    <message>
        <source>above the ground</source>
        <translation>über dem Boden</translation>
    </message>
    <message>
        <source>as an elevation</source>
        <translation>als Meereshöhe</translation>
    </message>
    <message>
        <source>above the ellipsoid</source>
        <translation>über dem Ellipsoid</translation>
    </message>
    <message>
        <source>Ground of the directions</source>
        <translation>Boden der Richtungen</translation>
    </message>
    <message>
        <source>Footprints</source>
        <translation>Fresnelzonen</translation>
    </message>
    <message>
        <source>Skyline</source>
        <translation>Horizontlinie</translation>
    </message>
    <message>
        <source>Passes</source>
        <translation>Durchgänge</translation>
    </message>
    <message>
        <source>Show</source>
        <translation>Zeigen</translation>
    </message>
    <message>
        <source>What is drawn on the map</source>
        <translation>Was auf der Karte gezeichnet wird</translation>
    </message>
    <message>
        <source>Antenna</source>
        <translation>Antenne</translation>
    </message>
</context>
<context>
    <name>PlaceTool</name>
    <message>
        <source>Click on the map to place the antenna, drag it to move it. Height: turn the wheel over the antenna, or press + − or ↑ ↓ (arrows with Shift, Page Up, Page Down: 1 m). Alt with arrow keys: move by a pixel (with Shift: ten). Enter: place in the middle of the map. Delete: take it off. Ctrl+Z: undo. Esc: stop.</source>
        <translation>Auf die Karte klicken setzt die Antenne, Ziehen versetzt sie. Höhe: das Mausrad über der Antenne drehen oder + − oder ↑ ↓ drücken (Pfeile mit Umschalt, Bild auf, Bild ab: 1 m). Alt mit Pfeiltasten: um ein Pixel versetzen (mit Umschalt: zehn). Eingabe: in die Mitte der Karte setzen. Entf: wegnehmen. Strg+Z: zurücknehmen. Esc: beenden.</translation>
    </message>
</context>
<context>
    <name>PurposeForm</name>
    <message>
        <source>Purpose and levels</source>
        <translation>Zweck und Wasserstände</translation>
    </message>
    <message>
        <source>sea level</source>
        <translation>Meeresspiegel</translation>
    </message>
    <message>
        <source>lake level</source>
        <translation>Seespiegel</translation>
    </message>
    <message>
        <source>snow depth</source>
        <translation>Schneehöhe</translation>
    </message>
    <message>
        <source>soil moisture</source>
        <translation>Bodenfeuchte</translation>
    </message>
    <message>
        <source>usual</source>
        <translation>üblich</translation>
    </message>
</context>
<context>
    <name>RunButton</name>
    <message>
        <source>Stop</source>
        <translation>Halt</translation>
    </message>
    <message>
        <source>Stop “{}”</source>
        <translation>„{}“ anhalten</translation>
    </message>
</context>
<context>
    <name>Runner</name>
    <message>
        <source>Processing does not know “{}”. Enable the plugins Processing and Stillwater.</source>
        <translation>Processing kennt „{}“ nicht. Schalten Sie die Erweiterungen Processing und Stillwater ein.</translation>
    </message>
    <message>
        <source>“{}” ended without a result.</source>
        <translation>„{}“ endete ohne Ergebnis.</translation>
    </message>
    <message>
        <source>A layer was removed while “{}” was reading it.</source>
        <translation>Ein Layer wurde entfernt, während „{}“ ihn las.</translation>
    </message>
</context>
<context>
    <name>SendToLayers</name>
    <message>
        <source>Send to layers</source>
        <translation>In Layer geben</translation>
    </message>
    <message>
        <source>Add footprints and the quality by direction around the antenna to the project, as temporary layers</source>
        <translation>Fresnelzonen und Güte nach Richtung um die Antenne ins Projekt aufnehmen, als temporäre Layer</translation>
    </message>
    <message>
        <source>Bench</source>
        <translation>Werkbank</translation>
    </message>
    <message>
        <source>Making the layers … {} %</source>
        <translation>Die Layer werden gemacht … {} %</translation>
    </message>
    <message>
        <source>Footprints and directions of “{}” were added to the project.</source>
        <translation>Fresnelzonen und Richtungen von „{}“ wurden ins Projekt aufgenommen.</translation>
    </message>
</context>
<context>
    <name>SkyForm</name>
    <message>
        <source>Signal and sky</source>
        <translation>Signal und Himmel</translation>
    </message>
</context>
<context>
    <name>Stillwater</name>
    <message>
        <source>Antenna height [m]</source>
        <translation>Antennenhöhe [m]</translation>
    </message>
    <message>
        <source>Height of the antenna&apos;s phase centre in metres, measured from HEIGHT_REFERENCE. Can be data-defined.</source>
        <translation>Höhe des Phasenzentrums der Antenne in Metern, gemessen von HEIGHT_REFERENCE. Kann datendefiniert sein.</translation>
    </message>
    <message>
        <source>What is to be measured</source>
        <translation>Was gemessen werden soll</translation>
    </message>
    <message>
        <source>Sea and lake levels need water in the footprints. For snow depth and soil moisture the DEM&apos;s ground below the antenna is the zero level, and with a DEM alone every spot with data counts.</source>
        <translation>Meeres- und Seespiegel brauchen Wasser in den Fresnelzonen. Für Schneehöhe und Bodenfeuchte ist der Boden des DEM unter der Antenne der Nullstand, und mit einem DEM allein zählt jeder Fleck mit Daten.</translation>
    </message>
    <message>
        <source>Height is measured from</source>
        <translation>Die Höhe wird gemessen von</translation>
    </message>
    <message>
        <source>surface: above the zero level of the reflecting surface. ground: above the ground or roof that the DEM shows at the site. datum: elevation in the DEM&apos;s vertical datum. ellipsoid: above the WGS 84 ellipsoid, as station lists give it (needs GEOID).</source>
        <translation>surface: über dem Nullstand der spiegelnden Oberfläche. ground: über dem Boden oder Dach, das das DEM am Ort zeigt. datum: Höhe im Höhenbezug des DEM. ellipsoid: über dem Ellipsoid WGS 84, wie Stationslisten sie angeben (braucht GEOID).</translation>
    </message>
    <message>
        <source>Zero level of the water [m]</source>
        <translation>Nullstand des Wassers [m]</translation>
    </message>
    <message>
        <source>Zero level of the water in the DEM&apos;s vertical datum, which chart datum is not. For snow and soil the zero level is the DEM&apos;s ground below the antenna, and this is not used.</source>
        <translation>Nullstand des Wassers im Höhenbezug des DEM; das Seekartennull ist das nicht. Für Schnee und Boden ist der Boden des DEM unter der Antenne der Nullstand, und dieser Wert bleibt unbenutzt.</translation>
    </message>
    <message>
        <source>Lowest level [m]</source>
        <translation>Tiefster Stand [m]</translation>
    </message>
    <message>
        <source>Ordinary lowest level relative to the zero level, such as low water of spring tides, or bare ground (0) for snow. An elevation angle is only as good as at its worst level.</source>
        <translation>Gewöhnlicher tiefster Stand gegenüber dem Nullstand, etwa Springniedrigwasser, oder der bloße Boden (0) bei Schnee. Ein Höhenwinkel ist nur so gut wie bei seinem schlechtesten Stand.</translation>
    </message>
    <message>
        <source>Highest level [m]</source>
        <translation>Höchster Stand [m]</translation>
    </message>
    <message>
        <source>Ordinary highest level relative to the zero level, such as high water of spring tides, or the greatest snow depth.</source>
        <translation>Gewöhnlicher höchster Stand gegenüber dem Nullstand, etwa Springhochwasser, oder die größte Schneehöhe.</translation>
    </message>
    <message>
        <source>Significant wave height [m]</source>
        <translation>Signifikante Wellenhöhe [m]</translation>
    </message>
    <message>
        <source>Ordinary significant wave height of the water, for sea and lake level; a quarter of it is the rms height that scatters the reflection. 0: waves are not looked at.</source>
        <translation>Gewöhnliche signifikante Wellenhöhe des Wassers, für Meeres- und Seespiegel; ein Viertel davon ist die mittlere quadratische Höhe, die die Spiegelung streut. 0: Wellen werden nicht betrachtet.</translation>
    </message>
    <message>
        <source>Signal</source>
        <translation>Signal</translation>
    </message>
    <message>
        <source>The carrier whose wavelength serves every satellite of the run. GLONASS FDMA carriers stand for channel 0.</source>
        <translation>Der Träger, dessen Wellenlänge für jeden Satelliten des Laufs gilt. FDMA-Träger von GLONASS stehen für Kanal 0.</translation>
    </message>
    <message>
        <source>Satellite systems</source>
        <translation>Satellitensysteme</translation>
    </message>
    <message>
        <source>Systems whose satellites are looked at. QZSS only with ORBITS.</source>
        <translation>Systeme, deren Satelliten betrachtet werden. QZSS nur mit ORBITS.</translation>
    </message>
    <message>
        <source>Real orbits</source>
        <translation>Wirkliche Bahnen</translation>
    </message>
    <message>
        <source>File with orbits: two-line elements, CCSDS OMM (XML, JSON or CSV), YUMA or SEM almanac, SP3-c or SP3-d; recognised from its content. Without it the published nominal constellations, whose clock times are indicative. Two-line elements and OMM need the Python package skyfield.</source>
        <translation>Datei mit Bahnen: Two-Line Elements, CCSDS OMM (XML, JSON oder CSV), YUMA- oder SEM-Almanach, SP3-c oder SP3-d; am Inhalt erkannt. Ohne sie gelten die veröffentlichten nominellen Konstellationen, deren Uhrzeiten nur ungefähr sind. Two-Line Elements und OMM brauchen das Python-Paket skyfield.</translation>
    </message>
    <message>
        <source>Start of the time looked at (UTC)</source>
        <translation>Beginn der betrachteten Zeit (UTC)</translation>
    </message>
    <message>
        <source>Date and time in UTC; with an offset it is converted. The time zone of this computer never enters.</source>
        <translation>Datum und Uhrzeit in UTC; mit einem Versatz wird umgerechnet. Die Zeitzone dieses Rechners spielt keine Rolle.</translation>
    </message>
    <message>
        <source>Days looked at</source>
        <translation>Betrachtete Tage</translation>
    </message>
    <message>
        <source>Length of the time looked at. A rank takes the worst day.</source>
        <translation>Länge der betrachteten Zeit. Eine Rangfolge nimmt den schlechtesten Tag.</translation>
    </message>
    <message>
        <source>Shortest interval that the receiver can log [s]</source>
        <translation>Kürzestes Intervall, mit dem der Empfänger aufzeichnen kann [s]</translation>
    </message>
    <message>
        <source>The height of a site can only be resolved if the receiver logs often enough.</source>
        <translation>Die Höhe eines Standorts lässt sich nur auflösen, wenn der Empfänger oft genug aufzeichnet.</translation>
    </message>
    <message>
        <source>Lowest elevation angle [°]</source>
        <translation>Tiefster Höhenwinkel [°]</translation>
    </message>
    <message>
        <source>Lowest elevation angle of the satellites that is looked at; above 0.</source>
        <translation>Tiefster Höhenwinkel der Satelliten, der betrachtet wird; über 0.</translation>
    </message>
    <message>
        <source>Highest elevation angle [°]</source>
        <translation>Höchster Höhenwinkel [°]</translation>
    </message>
    <message>
        <source>Highest elevation angle looked at; it is always one of them.</source>
        <translation>Höchster betrachteter Höhenwinkel; er ist immer dabei.</translation>
    </message>
    <message>
        <source>Elevation model (DEM)</source>
        <translation>Höhenmodell (DEM)</translation>
    </message>
    <message>
        <source>Elevation of the ground in metres, with or without structures; its vertical datum is the one that SURFACE_LEVEL refers to.</source>
        <translation>Höhe des Bodens in Metern, mit Bauwerken oder ohne; sein Höhenbezug ist der, auf den sich SURFACE_LEVEL bezieht.</translation>
    </message>
    <message>
        <source>Over water the DEM shows</source>
        <translation>Über Wasser zeigt das DEM</translation>
    </message>
    <message>
        <source>surface: a water surface or nothing, so where WATER or LANDCOVER says target the DEM never overrules it, and drying out is not checked. bed: the ground goes on under water, and a spot is target only where it lies below the level.</source>
        <translation>surface: eine Wasseroberfläche oder nichts; wo WATER oder LANDCOVER Ziel sagt, überstimmt das DEM sie nie, und Trockenfallen wird nicht geprüft. bed: der Boden geht unter Wasser weiter, und ein Fleck ist nur Ziel, wo er unter dem Stand liegt.</translation>
    </message>
    <message>
        <source>Wider elevation model</source>
        <translation>Weiteres Höhenmodell</translation>
    </message>
    <message>
        <source>Coarser and wider elevation in metres, same vertical datum as DEM, in any coordinate reference system. Looked at where DEM has no data or ends.</source>
        <translation>Gröbere und weiter reichende Höhen in Metern, gleicher Höhenbezug wie DEM, in beliebigem Koordinatensystem. Gilt, wo DEM keine Daten hat oder endet.</translation>
    </message>
    <message>
        <source>Geoid: height of the DEM&apos;s zero above the ellipsoid</source>
        <translation>Geoid: Höhe der Null des DEM über dem Ellipsoid</translation>
    </message>
    <message>
        <source>Raster in metres; needed for HEIGHT_REFERENCE ellipsoid. A geoid that is missing or zero at every site ends the run.</source>
        <translation>Raster in Metern; nötig für HEIGHT_REFERENCE ellipsoid. Ein Geoid, das an jedem Ort fehlt oder null ist, beendet den Lauf.</translation>
    </message>
    <message>
        <source>Land cover</source>
        <translation>Landbedeckung</translation>
    </message>
    <message>
        <source>Raster of land-cover classes. Where it has no data and no other layer covers a spot, the spot is unknown, and unknown counts as not target.</source>
        <translation>Raster von Landbedeckungsklassen. Wo es keine Daten hat und kein anderer Layer einen Fleck bedeckt, ist der Fleck unbekannt, und Unbekanntes zählt nicht als Ziel.</translation>
    </message>
    <message>
        <source>Land-cover classes that are the surface</source>
        <translation>Klassen der Landbedeckung, die die Oberfläche sind</translation>
    </message>
    <message>
        <source>Classes of LANDCOVER that are the surface to be measured: numbers and ranges, such as 80, 90-95.</source>
        <translation>Klassen von LANDCOVER, die die zu messende Oberfläche sind: Zahlen und Bereiche, etwa 80, 90-95.</translation>
    </message>
    <message>
        <source>Polygons of the surface (or of land)</source>
        <translation>Polygone der Oberfläche (oder des Landes)</translation>
    </message>
    <message>
        <source>Polygons of the surface to be measured, or of everything else (see WATER_IS). Invalid polygons are repaired, and the log says so.</source>
        <translation>Polygone der zu messenden Oberfläche oder von allem anderen (siehe WATER_IS). Ungültige Polygone werden repariert, und das Protokoll sagt es.</translation>
    </message>
    <message>
        <source>The polygons are</source>
        <translation>Die Polygone sind</translation>
    </message>
    <message>
        <source>target: the polygons are the surface to be measured. land: they are everything else.</source>
        <translation>target: die Polygone sind die zu messende Oberfläche. land: sie sind alles andere.</translation>
    </message>
    <message>
        <source>Areas to avoid</source>
        <translation>Zu meidende Flächen</translation>
    </message>
    <message>
        <source>Polygons where reflections are spoiled: berths, fairways, car parks, surf.</source>
        <translation>Polygone, wo Spiegelungen verdorben werden: Liegeplätze, Fahrwasser, Parkplätze, Brandung.</translation>
    </message>
    <message>
        <source>Share of the time that they spoil</source>
        <translation>Anteil der Zeit, in der sie stören</translation>
    </message>
    <message>
        <source>Field with the share of the time, 0 to 1, that an area is spoiled; without it, or where it is NULL, always (1). Where areas overlap the largest share counts.</source>
        <translation>Feld mit dem Anteil der Zeit, 0 bis 1, in der eine Fläche stört; ohne es, oder wo es NULL ist, immer (1). Wo sich Flächen überlappen, zählt der größte Anteil.</translation>
    </message>
    <message>
        <source>Name of the areas to avoid</source>
        <translation>Name der zu meidenden Flächen</translation>
    </message>
    <message>
        <source>Field with the names by which reasons mention the areas.</source>
        <translation>Feld mit den Namen, unter denen Begründungen die Flächen nennen.</translation>
    </message>
    <message>
        <source>Barriers</source>
        <translation>Hindernisse</translation>
    </message>
    <message>
        <source>Polygons of buildings, walls or woods that hide what is behind them. They stand on the DEM&apos;s ground; where no elevation model tells it, on the zero level. Leave them out where DEM is a surface model that holds them already.</source>
        <translation>Polygone von Gebäuden, Mauern oder Wäldern, die verdecken, was hinter ihnen liegt. Sie stehen auf dem Boden des DEM; wo kein Höhenmodell ihn nennt, auf dem Nullstand. Lassen Sie sie weg, wo DEM ein Oberflächenmodell ist, das sie schon enthält.</translation>
    </message>
    <message>
        <source>Height of the barriers [m]</source>
        <translation>Höhe der Hindernisse [m]</translation>
    </message>
    <message>
        <source>Field with the height of each barrier above the ground in metres. Each must have one, 0 or more.</source>
        <translation>Feld mit der Höhe jedes Hindernisses über dem Boden in Metern. Jedes muss eine haben, 0 oder mehr.</translation>
    </message>
    <message>
        <source>Precision wanted [cm; soil moisture: °]</source>
        <translation>Gewünschte Genauigkeit [cm; Bodenfeuchte: °]</translation>
    </message>
    <message>
        <source>The standard error that a value may have. Empty: 5 cm for sea level, 2 cm for lake level and snow depth, 2° of phase for soil moisture (common practice). A score of 50 just meets it.</source>
        <translation>Der Standardfehler, den ein Wert haben darf. Leer: 5 cm für Meeresspiegel, 2 cm für Seespiegel und Schneehöhe, 2° Phase für Bodenfeuchte (übliche Praxis). 50 Punkte erfüllen ihn gerade.</translation>
    </message>
    <message>
        <source>A value every so many hours [h]</source>
        <translation>Ein Wert alle so viele Stunden [h]</translation>
    </message>
    <message>
        <source>A value is made of the arcs within half of this before and after its time. Empty: 3 h for sea level, else 24 h.</source>
        <translation>Ein Wert entsteht aus den Bögen innerhalb der Hälfte davon vor und nach seiner Zeit. Leer: 3 h für Meeresspiegel, sonst 24 h.</translation>
    </message>
</context>
<context>
    <name>VerdictView</name>
    <message>
        <source>suitable</source>
        <translation>geeignet</translation>
    </message>
    <message>
        <source>marginal</source>
        <translation>grenzwertig</translation>
    </message>
    <message>
        <source>unsuitable</source>
        <translation>ungeeignet</translation>
    </message>
    <message>
        <source>not assessed</source>
        <translation>nicht beurteilt</translation>
    </message>
    <message>
        <source>Press Place, then click on the map where the antenna could stand.</source>
        <translation>Drücken Sie Setzen und klicken Sie auf die Karte, wo die Antenne stehen könnte.</translation>
    </message>
    <message>
        <source>Usable arcs a day</source>
        <translation>Brauchbare Bögen am Tag</translation>
    </message>
    <message>
        <source>Longest gap</source>
        <translation>Längste Lücke</translation>
    </message>
    <message>
        <source>Azimuth span</source>
        <translation>Azimutspanne</translation>
    </message>
    <message>
        <source>Elevation angles</source>
        <translation>Höhenwinkel</translation>
    </message>
    <message>
        <source>Mean quality</source>
        <translation>Mittlere Güte</translation>
    </message>
    <message>
        <source>Over the lowest level</source>
        <translation>Über dem tiefsten Stand</translation>
    </message>
    <message>
        <source>Over the highest level</source>
        <translation>Über dem höchsten Stand</translation>
    </message>
    <message>
        <source>score {} of 100</source>
        <translation>{} von 100 Punkten</translation>
    </message>
    <message>
        <source>Looked at roughly while the antenna moves</source>
        <translation>Grob betrachtet, solange sich die Antenne bewegt</translation>
    </message>
    <message>
        <source>Limited by {}.</source>
        <translation>Begrenzt durch: {}.</translation>
    </message>
    <message>
        <source>Limited by nothing.</source>
        <translation>Durch nichts begrenzt.</translation>
    </message>
    <message>
        <source>No usable arc, so no interval can be recommended.</source>
        <translation>Kein brauchbarer Bogen, also lässt sich kein Intervall empfehlen.</translation>
    </message>
    <message>
        <source>No usual interval is short enough: every usable arc is resolved only at {} s or faster.</source>
        <translation>Kein übliches Intervall ist kurz genug: jeder brauchbare Bogen wird erst bei {} s oder schneller aufgelöst.</translation>
    </message>
    <message>
        <source>at least {} h</source>
        <translation>mindestens {} h</translation>
    </message>
    <message>
        <source>{} h</source>
        <translation>{} h</translation>
    </message>
    <message>
        <source>{} to {}°</source>
        <translation>{} bis {}°</translation>
    </message>
    <message>
        <source>{} m</source>
        <translation>{} m</translation>
    </message>
    <message>
        <source>Error of one arc</source>
        <translation>Fehler eines Bogens</translation>
    </message>
    <message>
        <source>Not looked at: {}.</source>
        <translation>Nicht betrachtet: {}.</translation>
    </message>
    <message>
        <source>{} every {} h; {} wanted</source>
        <translation>{} alle {} h; gewünscht {}</translation>
    </message>
    <message>
        <source>Log every {} s; at most {} s resolve every usable arc.</source>
        <translation>Alle {} s aufzeichnen; höchstens {} s lösen jeden brauchbaren Bogen auf.</translation>
    </message>
</context>
</TS>
