<!DOCTYPE qgis PUBLIC 'http://mrcc.com/qgis.dtd' 'SYSTEM'>
<qgis labelsEnabled="1" readOnly="0" styleCategories="LayerConfiguration|Symbology|Labeling|Fields|MapTips" version="3.22.16-Białowieża">
 <renderer-v2 attr="verdict" enableorderby="0" forceraster="0" referencescale="-1" symbollevels="0" type="categorizedSymbol">
  <categories>
   <category label="suitable" render="true" symbol="0" value="suitable"/>
   <category label="marginal" render="true" symbol="1" value="marginal"/>
   <category label="unsuitable" render="true" symbol="2" value="unsuitable"/>
   <category label="not assessed" render="true" symbol="3" value="not assessed"/>
  </categories>
  <symbols>
   <symbol alpha="1" clip_to_extent="1" force_rhr="0" name="0" type="marker">
    <layer class="SimpleMarker" enabled="1" locked="0" pass="0">
     <Option type="Map">
      <Option name="angle" type="QString" value="0"/>
      <Option name="cap_style" type="QString" value="square"/>
      <Option name="color" type="QString" value="255,255,255,255"/>
      <Option name="horizontal_anchor_point" type="QString" value="1"/>
      <Option name="joinstyle" type="QString" value="bevel"/>
      <Option name="name" type="QString" value="star"/>
      <Option name="offset" type="QString" value="0,0"/>
      <Option name="offset_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="offset_unit" type="QString" value="MM"/>
      <Option name="outline_color" type="QString" value="255,255,255,255"/>
      <Option name="outline_style" type="QString" value="solid"/>
      <Option name="outline_width" type="QString" value="1.1"/>
      <Option name="outline_width_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="outline_width_unit" type="QString" value="MM"/>
      <Option name="scale_method" type="QString" value="diameter"/>
      <Option name="size" type="QString" value="5"/>
      <Option name="size_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="size_unit" type="QString" value="MM"/>
      <Option name="vertical_anchor_point" type="QString" value="1"/>
     </Option>
    </layer>
    <layer class="SimpleMarker" enabled="1" locked="0" pass="0">
     <Option type="Map">
      <Option name="angle" type="QString" value="0"/>
      <Option name="cap_style" type="QString" value="square"/>
      <Option name="color" type="QString" value="255,234,70,255"/>
      <Option name="horizontal_anchor_point" type="QString" value="1"/>
      <Option name="joinstyle" type="QString" value="bevel"/>
      <Option name="name" type="QString" value="star"/>
      <Option name="offset" type="QString" value="0,0"/>
      <Option name="offset_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="offset_unit" type="QString" value="MM"/>
      <Option name="outline_color" type="QString" value="20,26,34,255"/>
      <Option name="outline_style" type="QString" value="solid"/>
      <Option name="outline_width" type="QString" value="0.35"/>
      <Option name="outline_width_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="outline_width_unit" type="QString" value="MM"/>
      <Option name="scale_method" type="QString" value="diameter"/>
      <Option name="size" type="QString" value="5"/>
      <Option name="size_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="size_unit" type="QString" value="MM"/>
      <Option name="vertical_anchor_point" type="QString" value="1"/>
     </Option>
    </layer>
   </symbol>
   <symbol alpha="1" clip_to_extent="1" force_rhr="0" name="1" type="marker">
    <layer class="SimpleMarker" enabled="1" locked="0" pass="0">
     <Option type="Map">
      <Option name="angle" type="QString" value="0"/>
      <Option name="cap_style" type="QString" value="square"/>
      <Option name="color" type="QString" value="255,255,255,255"/>
      <Option name="horizontal_anchor_point" type="QString" value="1"/>
      <Option name="joinstyle" type="QString" value="bevel"/>
      <Option name="name" type="QString" value="diamond"/>
      <Option name="offset" type="QString" value="0,0"/>
      <Option name="offset_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="offset_unit" type="QString" value="MM"/>
      <Option name="outline_color" type="QString" value="255,255,255,255"/>
      <Option name="outline_style" type="QString" value="solid"/>
      <Option name="outline_width" type="QString" value="1.1"/>
      <Option name="outline_width_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="outline_width_unit" type="QString" value="MM"/>
      <Option name="scale_method" type="QString" value="diameter"/>
      <Option name="size" type="QString" value="4"/>
      <Option name="size_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="size_unit" type="QString" value="MM"/>
      <Option name="vertical_anchor_point" type="QString" value="1"/>
     </Option>
    </layer>
    <layer class="SimpleMarker" enabled="1" locked="0" pass="0">
     <Option type="Map">
      <Option name="angle" type="QString" value="0"/>
      <Option name="cap_style" type="QString" value="square"/>
      <Option name="color" type="QString" value="190,175,111,255"/>
      <Option name="horizontal_anchor_point" type="QString" value="1"/>
      <Option name="joinstyle" type="QString" value="bevel"/>
      <Option name="name" type="QString" value="diamond"/>
      <Option name="offset" type="QString" value="0,0"/>
      <Option name="offset_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="offset_unit" type="QString" value="MM"/>
      <Option name="outline_color" type="QString" value="20,26,34,255"/>
      <Option name="outline_style" type="QString" value="solid"/>
      <Option name="outline_width" type="QString" value="0.35"/>
      <Option name="outline_width_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="outline_width_unit" type="QString" value="MM"/>
      <Option name="scale_method" type="QString" value="diameter"/>
      <Option name="size" type="QString" value="4"/>
      <Option name="size_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="size_unit" type="QString" value="MM"/>
      <Option name="vertical_anchor_point" type="QString" value="1"/>
     </Option>
    </layer>
   </symbol>
   <symbol alpha="1" clip_to_extent="1" force_rhr="0" name="2" type="marker">
    <layer class="SimpleMarker" enabled="1" locked="0" pass="0">
     <Option type="Map">
      <Option name="angle" type="QString" value="45"/>
      <Option name="cap_style" type="QString" value="square"/>
      <Option name="color" type="QString" value="255,255,255,255"/>
      <Option name="horizontal_anchor_point" type="QString" value="1"/>
      <Option name="joinstyle" type="QString" value="bevel"/>
      <Option name="name" type="QString" value="cross_fill"/>
      <Option name="offset" type="QString" value="0,0"/>
      <Option name="offset_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="offset_unit" type="QString" value="MM"/>
      <Option name="outline_color" type="QString" value="255,255,255,255"/>
      <Option name="outline_style" type="QString" value="solid"/>
      <Option name="outline_width" type="QString" value="1.1"/>
      <Option name="outline_width_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="outline_width_unit" type="QString" value="MM"/>
      <Option name="scale_method" type="QString" value="diameter"/>
      <Option name="size" type="QString" value="3.4"/>
      <Option name="size_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="size_unit" type="QString" value="MM"/>
      <Option name="vertical_anchor_point" type="QString" value="1"/>
     </Option>
    </layer>
    <layer class="SimpleMarker" enabled="1" locked="0" pass="0">
     <Option type="Map">
      <Option name="angle" type="QString" value="45"/>
      <Option name="cap_style" type="QString" value="square"/>
      <Option name="color" type="QString" value="0,32,77,255"/>
      <Option name="horizontal_anchor_point" type="QString" value="1"/>
      <Option name="joinstyle" type="QString" value="bevel"/>
      <Option name="name" type="QString" value="cross_fill"/>
      <Option name="offset" type="QString" value="0,0"/>
      <Option name="offset_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="offset_unit" type="QString" value="MM"/>
      <Option name="outline_color" type="QString" value="20,26,34,255"/>
      <Option name="outline_style" type="QString" value="solid"/>
      <Option name="outline_width" type="QString" value="0.35"/>
      <Option name="outline_width_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="outline_width_unit" type="QString" value="MM"/>
      <Option name="scale_method" type="QString" value="diameter"/>
      <Option name="size" type="QString" value="3.4"/>
      <Option name="size_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="size_unit" type="QString" value="MM"/>
      <Option name="vertical_anchor_point" type="QString" value="1"/>
     </Option>
    </layer>
   </symbol>
   <symbol alpha="1" clip_to_extent="1" force_rhr="0" name="3" type="marker">
    <layer class="SimpleMarker" enabled="1" locked="0" pass="0">
     <Option type="Map">
      <Option name="angle" type="QString" value="0"/>
      <Option name="cap_style" type="QString" value="square"/>
      <Option name="color" type="QString" value="255,255,255,255"/>
      <Option name="horizontal_anchor_point" type="QString" value="1"/>
      <Option name="joinstyle" type="QString" value="bevel"/>
      <Option name="name" type="QString" value="square"/>
      <Option name="offset" type="QString" value="0,0"/>
      <Option name="offset_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="offset_unit" type="QString" value="MM"/>
      <Option name="outline_color" type="QString" value="255,255,255,255"/>
      <Option name="outline_style" type="QString" value="solid"/>
      <Option name="outline_width" type="QString" value="1.1"/>
      <Option name="outline_width_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="outline_width_unit" type="QString" value="MM"/>
      <Option name="scale_method" type="QString" value="diameter"/>
      <Option name="size" type="QString" value="2.8"/>
      <Option name="size_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="size_unit" type="QString" value="MM"/>
      <Option name="vertical_anchor_point" type="QString" value="1"/>
     </Option>
    </layer>
    <layer class="SimpleMarker" enabled="1" locked="0" pass="0">
     <Option type="Map">
      <Option name="angle" type="QString" value="0"/>
      <Option name="cap_style" type="QString" value="square"/>
      <Option name="color" type="QString" value="255,255,255,60"/>
      <Option name="horizontal_anchor_point" type="QString" value="1"/>
      <Option name="joinstyle" type="QString" value="bevel"/>
      <Option name="name" type="QString" value="square"/>
      <Option name="offset" type="QString" value="0,0"/>
      <Option name="offset_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="offset_unit" type="QString" value="MM"/>
      <Option name="outline_color" type="QString" value="20,26,34,255"/>
      <Option name="outline_style" type="QString" value="solid"/>
      <Option name="outline_width" type="QString" value="0.35"/>
      <Option name="outline_width_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="outline_width_unit" type="QString" value="MM"/>
      <Option name="scale_method" type="QString" value="diameter"/>
      <Option name="size" type="QString" value="2.8"/>
      <Option name="size_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="size_unit" type="QString" value="MM"/>
      <Option name="vertical_anchor_point" type="QString" value="1"/>
     </Option>
    </layer>
   </symbol>
  </symbols>
  <rotation/>
  <sizescale/>
 </renderer-v2>
 <labeling type="simple">
  <settings calloutType="simple">
   <text-style allowHtml="0" blendMode="0" capitalization="0" fieldName="&quot;site&quot; || CASE WHEN &quot;move_m&quot; &gt; 0 OR &quot;score_new&quot; &gt; coalesce(&quot;score_old&quot;, -1) THEN &#x27;  &#x27; || coalesce(round(&quot;score_old&quot;) || &#x27; → &#x27;, &#x27;&#x27;) || round(&quot;score_new&quot;) ELSE &#x27;&#x27; END" fontFamily="Sans Serif" fontItalic="0" fontKerning="1" fontLetterSpacing="0" fontSize="9" fontSizeMapUnitScale="3x:0,0,0,0,0,0" fontSizeUnit="Point" fontStrikeout="0" fontUnderline="0" fontWeight="50" fontWordSpacing="0" isExpression="1" legendString="Aa" multilineHeight="1" namedStyle="" previewBkgrdColor="255,255,255,255" textColor="20,26,34,255" textOpacity="1" textOrientation="horizontal" useSubstitutions="0">
    <families/>
    <text-buffer bufferBlendMode="0" bufferColor="255,255,255,225" bufferDraw="1" bufferJoinStyle="128" bufferNoFill="1" bufferOpacity="1" bufferSize="0.80000000000000004" bufferSizeMapUnitScale="3x:0,0,0,0,0,0" bufferSizeUnits="MM"/>
    <text-mask maskEnabled="0" maskJoinStyle="128" maskOpacity="1" maskSize="1.5" maskSizeMapUnitScale="3x:0,0,0,0,0,0" maskSizeUnits="MM" maskType="0" maskedSymbolLayers=""/>
    <background shapeBlendMode="0" shapeBorderColor="128,128,128,255" shapeBorderWidth="0" shapeBorderWidthMapUnitScale="3x:0,0,0,0,0,0" shapeBorderWidthUnit="MM" shapeDraw="0" shapeFillColor="255,255,255,255" shapeJoinStyle="64" shapeOffsetMapUnitScale="3x:0,0,0,0,0,0" shapeOffsetUnit="MM" shapeOffsetX="0" shapeOffsetY="0" shapeOpacity="1" shapeRadiiMapUnitScale="3x:0,0,0,0,0,0" shapeRadiiUnit="MM" shapeRadiiX="0" shapeRadiiY="0" shapeRotation="0" shapeRotationType="0" shapeSVGFile="" shapeSizeMapUnitScale="3x:0,0,0,0,0,0" shapeSizeType="0" shapeSizeUnit="MM" shapeSizeX="0" shapeSizeY="0" shapeType="0">
     <symbol alpha="1" clip_to_extent="1" force_rhr="0" name="fillSymbol" type="fill">
      <layer class="SimpleFill" enabled="1" locked="0" pass="0">
       <Option type="Map">
        <Option name="border_width_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
        <Option name="color" type="QString" value="255,255,255,255"/>
        <Option name="joinstyle" type="QString" value="bevel"/>
        <Option name="offset" type="QString" value="0,0"/>
        <Option name="offset_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
        <Option name="offset_unit" type="QString" value="MM"/>
        <Option name="outline_color" type="QString" value="128,128,128,255"/>
        <Option name="outline_style" type="QString" value="no"/>
        <Option name="outline_width" type="QString" value="0"/>
        <Option name="outline_width_unit" type="QString" value="MM"/>
        <Option name="style" type="QString" value="solid"/>
       </Option>
      </layer>
     </symbol>
    </background>
    <shadow shadowBlendMode="6" shadowColor="0,0,0,255" shadowDraw="0" shadowOffsetAngle="135" shadowOffsetDist="1" shadowOffsetGlobal="1" shadowOffsetMapUnitScale="3x:0,0,0,0,0,0" shadowOffsetUnit="MM" shadowOpacity="0.69999999999999996" shadowRadius="1.5" shadowRadiusAlphaOnly="0" shadowRadiusMapUnitScale="3x:0,0,0,0,0,0" shadowRadiusUnit="MM" shadowScale="100" shadowUnder="0"/>
    <substitutions/>
   </text-style>
   <text-format addDirectionSymbol="0" autoWrapLength="0" decimals="3" formatNumbers="0" leftDirectionSymbol="&lt;" multilineAlign="3" placeDirectionSymbol="0" plussign="0" reverseDirectionSymbol="0" rightDirectionSymbol="&gt;" useMaxLineLengthForAutoWrap="1" wrapChar=""/>
   <placement centroidInside="0" centroidWhole="0" dist="0.29999999999999999" distMapUnitScale="3x:0,0,0,0,0,0" distUnits="MM" fitInPolygonOnly="0" geometryGenerator="" geometryGeneratorEnabled="0" geometryGeneratorType="PointGeometry" labelOffsetMapUnitScale="3x:0,0,0,0,0,0" layerType="UnknownGeometry" lineAnchorClipping="0" lineAnchorPercent="0.5" lineAnchorType="0" maxCurvedCharAngleIn="25" maxCurvedCharAngleOut="-25" offsetType="1" offsetUnits="MM" overrunDistance="0" overrunDistanceMapUnitScale="3x:0,0,0,0,0,0" overrunDistanceUnit="MM" placement="6" placementFlags="10" polygonPlacementFlags="2" predefinedPositionOrder="TR,TL,BR,BL,R,L,TSR,BSR" preserveRotation="1" priority="5" quadOffset="4" repeatDistance="0" repeatDistanceMapUnitScale="3x:0,0,0,0,0,0" repeatDistanceUnits="MM" rotationAngle="0" rotationUnit="AngleDegrees" xOffset="0" yOffset="0"/>
   <rendering displayAll="0" drawLabels="1" fontLimitPixelSize="0" fontMaxPixelSize="10000" fontMinPixelSize="0" labelPerPart="0" limitNumLabels="0" maxNumLabels="2000" mergeLines="0" minFeatureSize="0" obstacle="1" obstacleFactor="1" obstacleType="1" scaleMax="0" scaleMin="0" scaleVisibility="0" unplacedVisibility="0" upsidedownLabels="0" zIndex="0"/>
  </settings>
 </labeling>
 <blendMode>0</blendMode>
 <featureBlendMode>0</featureBlendMode>
 <aliases>
  <alias field="site" index="0" name="Site"/>
  <alias field="height_m" index="1" name="Antenna height from HEIGHT_REFERENCE [m]"/>
  <alias field="move_m" index="2" name="Distance from where it was [m]"/>
  <alias field="move_deg" index="3" name="Direction from where it was [°]"/>
  <alias field="score_old" index="4" name="Score where it was (0 to 100)"/>
  <alias field="score_new" index="5" name="Score here (0 to 100)"/>
  <alias field="cm_old" index="6" name="Precision where it was [cm; soil moisture: °]"/>
  <alias field="cm_new" index="7" name="Precision here [cm; soil moisture: °]"/>
  <alias field="verdict" index="8" name="Verdict here"/>
  <alias field="limit_by" index="9" name="Limited here by"/>
  <alias field="advice" index="10" name="Advice"/>
  <alias field="gain" index="11" name="What is gained"/>
  <alias field="h_least_m" index="12" name="Least suitable height where it was [m]"/>
  <alias field="near_ok_m" index="13" name="Distance to the nearest suitable position [m]"/>
 </aliases>
 <previewExpression>"site" || coalesce(', moved ' || round("move_m", 1) || ' m', '')</previewExpression>
 <mapTip>&lt;b&gt;[% "site" %]&lt;/b&gt;: [% "verdict" %][% coalesce(', score ' || round("score_new"), '') %][% coalesce(' (was ' || round("score_old") || ')', '') %]&lt;br&gt;[% coalesce('antenna at ' || round("height_m", 2) || ' m', '') %][% CASE WHEN "move_m" &gt; 0 THEN ', ' || round("move_m", 1) || ' m towards ' || round("move_deg") || '°' ELSE '' END %]&lt;br&gt;[% coalesce("gain", '') %]&lt;br&gt;[% coalesce('least suitable height where it was: ' || round("h_least_m", 2) || ' m&lt;br&gt;', '') %]&lt;i&gt;[% "advice" %]&lt;/i&gt;</mapTip>
 <layerGeometryType>0</layerGeometryType>
</qgis>
